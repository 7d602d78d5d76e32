"""Run every benchmark: each module of this folder with a `main` writes its own page."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def main() -> None:
    """Load and run each benchmark in turn."""
    for path in sorted(HERE.glob("*.py")):
        if path.name == "run.py":
            continue
        spec = importlib.util.spec_from_file_location(f"benchmark_{path.stem}", path)
        if spec is None or spec.loader is None:
            continue
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module
        spec.loader.exec_module(module)
        if hasattr(module, "main"):
            print(f"--- {path.stem}", flush=True)
            module.main()


if __name__ == "__main__":
    main()
