"""The command line: parse, call one operation, show."""

from drainwright.cli.app import main

__all__ = ["main"]
