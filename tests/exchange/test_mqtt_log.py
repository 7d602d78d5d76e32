"""A logger that speaks MQTT, with and without a real broker."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drainwright.errors import InputError
from drainwright.exchange.logger_file import read_logger
from drainwright.exchange.logger_times import TimeHabits
from drainwright.exchange.mqtt_log import MqttLog, listen

NOON = dt.datetime(2026, 11, 19, 12, 0, 0, 400_000, tzinfo=dt.UTC)


def heard(*messages: tuple[str, str]) -> str:
    log = MqttLog("truck/temps", lambda: NOON)
    for topic, payload in messages:
        log.take(topic, payload.encode())
    content = log.content()
    return "" if content is None else content.decode().replace("\r\n", "\n")


def test_plain_numbers_of_one_second_are_one_row() -> None:
    found = heard(("truck/temps/gas in degC", "105.5"), ("truck/temps/exhaust degC", "95"))
    assert found == "time,gas in degC,exhaust degC\n2026-11-19T12:00:00Z,105.5,95.0\n"


def test_all_channels_at_once_with_their_own_time() -> None:
    later = {"time": "2026-11-19T06:00:07-06:00", "values": {"exhaust degC": 96, "note": "x"}}
    found = heard(("truck/temps/exhaust degC", "95"), ("truck/temps", json.dumps(later)))
    assert found.splitlines()[1:] == ["2026-11-19T12:00:00Z,95.0", "2026-11-19T12:00:07Z,96.0"]


@pytest.mark.parametrize("payload", ["", "hot", "true", "NaN", "[1]", '{"values": 3}', "\xff"])
def test_what_says_nothing_usable_is_passed_over(payload: str) -> None:
    assert heard(("truck/temps/exhaust degC", payload), ("truck/temps", payload)) == ""


@pytest.mark.parametrize("address", ["mqtt://truck", "mqtt:///topic", "http://truck/topic"])
def test_an_address_that_is_none(address: str) -> None:
    with pytest.raises(InputError, match="must be like"):
        listen(address, lambda: NOON)


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[int]:
    """The port of a real broker; skipped without one unless REQUIRE_MOSQUITTO is set."""
    program = shutil.which("mosquitto", path=os.environ["PATH"] + ":/usr/sbin")
    if program is None:
        if os.environ.get("REQUIRE_MOSQUITTO"):
            pytest.fail("REQUIRE_MOSQUITTO is set and there is no mosquitto")
        pytest.skip("no mosquitto")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    settings = tmp_path / "mosquitto.conf"
    settings.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\n", "utf-8")
    process = subprocess.Popen([program, "-c", str(settings)], stderr=subprocess.DEVNULL)
    yield port
    process.terminate()
    process.wait(10)


def test_a_real_broker(broker: int) -> None:
    from paho.mqtt.client import Client
    from paho.mqtt.enums import CallbackAPIVersion

    seconds = itertools.count()
    log, stop = listen(
        f"mqtt://127.0.0.1:{broker}/truck/temps",
        lambda: NOON + dt.timedelta(seconds=next(seconds)),
    )
    sender = Client(CallbackAPIVersion.VERSION2)
    sender.connect_async("127.0.0.1", broker)
    sender.loop_start()
    try:
        end = time.monotonic() + 30
        while (log.content() or b"").count(b"\n") < 8 and time.monotonic() < end:
            sender.publish("truck/temps/wall top 3 m degC", "81.5")
            sender.publish("elsewhere/wall", "1")
            time.sleep(0.1)
    finally:
        sender.disconnect()
        sender.loop_stop()
        stop()
    content = log.content()
    assert content is not None
    table = read_logger(content, "mqtt", TimeHabits())
    assert not table.faults
    assert len(table.moments) >= 7
    assert b"elsewhere" not in content
    assert b"81.5" in content
