"""Which laterals got a lot: resin, tube, collar, seals (read)."""

from __future__ import annotations

from drainwright.acceptance.lots import LotUse, lots_of
from drainwright.operations.field_attempts import field_attempts
from drainwright.storage.protocol import RecordStore


def recall_lot(store: RecordStore, project: str, lot: str) -> tuple[LotUse, ...]:
    """Every attempt that used a lot, by its number or a part of it, without regard to case."""
    wanted = lot.strip().casefold()
    with store.read() as session:
        found = lots_of(field_attempts(session, project))
    return tuple(one for one in found if wanted and wanted in one.lot.casefold())
