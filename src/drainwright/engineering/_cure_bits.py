"""The bits of a floating-point number as an integer and back, for compiled code."""

from __future__ import annotations

from typing import Any


def _intrinsics() -> tuple[Any, Any, Any]:
    from llvmlite import ir
    from numba.core import types
    from numba.extending import intrinsic

    def bits(_: Any, x: Any) -> Any:
        def code(_context: Any, builder: Any, _signature: Any, args: Any) -> Any:
            return builder.bitcast(args[0], ir.IntType(64))

        return types.int64(types.float64), code if x is not None else None

    def back(_: Any, n: Any) -> Any:
        def code(_context: Any, builder: Any, _signature: Any, args: Any) -> Any:
            return builder.bitcast(args[0], ir.DoubleType())

        return types.float64(types.int64), code if n is not None else None

    def upper(_: Any, n: Any) -> Any:
        def code(_context: Any, builder: Any, _signature: Any, args: Any) -> Any:
            return builder.lshr(args[0], ir.Constant(ir.IntType(64), 52))

        return types.int64(types.int64), code if n is not None else None

    return intrinsic(bits), intrinsic(back), intrinsic(upper)


bits_of, float_of, exponent_of = _intrinsics()
