"""Where compiled kernels are kept: a cache folder named by the hash of their source.

A cache beside the source would return old numbers after an edit of a function that a kernel
calls, so the folder's name changes with any module that holds kernels or is imported by one.
"""

from __future__ import annotations

import ast
import hashlib
import os
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

_HERE = Path(__file__).resolve().parent


def kernel_sources(folder: Path = _HERE) -> list[Path]:
    """The modules of a folder that hold kernels, and all of the folder that these import."""
    modules = {path.stem: path for path in folder.glob("*.py")}
    waiting = [name for name, path in modules.items() if b"_compiled import" in path.read_bytes()]
    found: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += _imports(modules[name]) & modules.keys()
    return [modules[name] for name in sorted(found)]


def _imports(path: Path) -> set[str]:
    """Last parts of every module name that a file may import."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_bytes())):
        if isinstance(node, ast.ImportFrom):
            names |= {(node.module or "").rpartition(".")[2], *(one.name for one in node.names)}
        elif isinstance(node, ast.Import):
            names |= {one.name.rpartition(".")[2] for one in node.names}
    return names


def source_hash(folder: Path = _HERE) -> str:
    """Hash of the modules that make the kernels, names and contents."""
    digest = hashlib.sha256()
    for path in kernel_sources(folder):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder(folder: Path = _HERE) -> Path:
    """The folder for this source's kernels, below the user's cache folder."""
    import platformdirs

    base = os.environ.get("DRAINWRIGHT_CACHE") or platformdirs.user_cache_dir("drainwright")
    return Path(base) / "kernels" / source_hash(folder)


@lru_cache(maxsize=1)
def _numba() -> Any:
    import llvmlite.binding
    import numba

    folder = cache_folder()
    folder.mkdir(parents=True, exist_ok=True)
    settings: Any = numba.config
    settings.CACHE_DIR = str(folder)
    # loops over many arrays become vector code only if the compiler may compare all their bounds
    llvmlite.binding.set_option("drainwright", "--runtime-memory-check-threshold=200")
    return numba


_OPTIONS: dict[str, Any] = {
    "nogil": True,
    "fastmath": {"nsz", "contract", "reassoc", "arcp"},
    "error_model": "numpy",
}


def kernel(function: Callable[..., Any]) -> Any:
    """Compile a function for the machine: cached, without the interpreter lock."""
    return _numba().njit(cache=True, **_OPTIONS)(function)


def inner(function: Callable[..., Any]) -> Any:
    """Compile a function that only kernels call: no wrapper for Python, no cache of its own."""
    return _inner(function)


def pasted(function: Callable[..., Any]) -> Any:
    """Like `inner`, but always pasted into its caller, so that loops around it become vectors."""
    return _inner(function, forceinline=True)


def exactly(function: Callable[..., Any]) -> Any:
    """Like `inner`, but the order of additions stays as written."""
    return _inner(function, fastmath={"contract"})


def _inner(function: Callable[..., Any], **changes: Any) -> Any:
    options = _OPTIONS | {"no_cpython_wrapper": True, "no_cfunc_wrapper": True} | changes
    return _numba().njit(**options)(function)
