"""Ids of field entries are UUIDv7."""

import datetime as dt
import uuid

import pytest

from drainwright.records.entry_id import entry_id


@pytest.mark.published
def test_the_example_of_rfc_9562() -> None:
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22.00 GMT-05:00, rand_a CC3, rand_b 18C4DC0C0C07398F
    at = dt.datetime(2022, 2, 22, 19, 22, 22, tzinfo=dt.UTC)
    found = entry_id(at, bytes.fromhex("0cc318c4dc0c0c07398f"))
    assert found == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_later_ids_sort_later() -> None:
    at = dt.datetime(2026, 11, 1, 6, 59, 59, 999000, tzinfo=dt.UTC)
    first, last = entry_id(at, b"\xff" * 10), entry_id(at + dt.timedelta(milliseconds=1), bytes(10))
    assert first < last
    assert uuid.UUID(first).version == 7
