"""CoolProp's core, without its package: that lists every fluid at import, for seconds.

A module of its own, so that importing it is what loads the core, once and for every thread.
"""

from __future__ import annotations

import sys
from importlib.machinery import PathFinder
from importlib.util import find_spec, module_from_spec
from typing import Any


def _core() -> Any:
    package = find_spec("CoolProp")
    places = package.submodule_search_locations if package else None
    found = PathFinder.find_spec("CoolProp.CoolProp", places)
    if found is None or found.loader is None:
        raise ModuleNotFoundError("CoolProp is not installed", name="CoolProp")
    if found.name not in sys.modules:
        sys.modules[found.name] = module_from_spec(found)
        found.loader.exec_module(sys.modules[found.name])
    return sys.modules[found.name]


property_of = _core().PropsSI
"""(property, name, value, name, value, fluid): one property in SI units."""
