"""A logger that speaks MQTT on the truck's network, as the text of a logger's file.

Under the topic TOPIC a channel sends plain numbers to `TOPIC/NAME`, or a logger sends all its
channels at once to TOPIC as JSON: `{"time": "2026-11-19T16:00:00Z", "values": {"NAME": 105.2}}`.
Names are read like the headers of a file, such as `wall top 10 ft degF`. Nothing is kept: the
logger's own file stays the record.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
import threading
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from drainwright.errors import Fault, InputError

MOST_ROWS = 100_000
PORT = 1883


class MqttLog:
    """What a topic said since it was opened, one row a second."""

    def __init__(self, topic: str, now: Callable[[], dt.datetime]) -> None:
        self._topic, self._now = topic.strip("/"), now
        self._rows: dict[dt.datetime, dict[str, float]] = {}
        self._names: dict[str, None] = {}
        self._lock = threading.Lock()

    def take(self, topic: str, payload: bytes) -> None:
        """A message; one that says nothing usable is passed over."""
        try:
            found = json.loads(payload)
        except ValueError:
            return
        name = topic.removeprefix(self._topic).strip("/")
        if isinstance(found, dict) and not name:
            values, at = found.get("values"), _time(found.get("time")) or self._now()
        else:
            values, at = {name: found}, self._now()
        if not isinstance(values, dict):
            return
        known = {str(key): float(one) for key, one in values.items() if key and _number(one)}
        if not known:
            return
        second = at.astimezone(dt.UTC).replace(microsecond=0)
        with self._lock:
            if len(self._rows) < MOST_ROWS or second in self._rows:
                self._rows.setdefault(second, {}).update(known)
                self._names.update(dict.fromkeys(known))

    def content(self) -> bytes | None:
        """A logger's file of what was said; None before anything was."""
        with self._lock:
            names, rows = list(self._names), sorted(self._rows.items())
        if not rows:
            return None
        text = io.StringIO()
        table = csv.writer(text)
        table.writerow(["time", *names])
        for at, values in rows:
            table.writerow([f"{at:%Y-%m-%dT%H:%M:%SZ}", *(values.get(name, "") for name in names)])
        return text.getvalue().encode()


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _time(text: Any) -> dt.datetime | None:
    try:
        at = dt.datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return at if at.tzinfo else None


def listen(address: str, now: Callable[[], dt.datetime]) -> tuple[MqttLog, Callable[[], None]]:
    """Listen to mqtt://HOST[:PORT]/TOPIC until the function returned is called.

    A broker that is away is tried again by itself. Raises `InputError` for an address that is
    none, and where the extra `mqtt` is not installed.
    """
    parts = urlsplit(address)
    topic = parts.path.strip("/")
    if parts.scheme != "mqtt" or not parts.hostname or not topic:
        message = "must be like mqtt://logger.local/truck/temperatures"
        raise InputError(Fault("logger", message, address))
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion
    except ImportError as error:
        message = "needs the extra “mqtt” of this program"
        raise InputError(Fault("logger", message, address)) from error
    log = MqttLog(topic, now)
    client = Client(CallbackAPIVersion.VERSION2)

    def connected(*_: Any) -> None:
        client.subscribe([(topic, 0), (f"{topic}/#", 0)])

    client.on_connect = connected
    client.on_message = lambda _, __, one: log.take(one.topic, bytes(one.payload))
    client.connect_async(parts.hostname, parts.port or PORT)
    client.loop_start()

    def stop() -> None:
        client.disconnect()
        client.loop_stop()

    return log, stop
