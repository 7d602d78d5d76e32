"""A storm: eight devices, ten thousand entries, cuts, repeats, reorderings, jumps, kills."""

from __future__ import annotations

import http.client
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from drainwright.errors import StorageError
from drainwright.operations.field_journal import entries_of, entry_json
from drainwright.operations.stores import opened
from drainwright.operations.sync_field import Sides, asker, sync_field
from drainwright.records.field_entry import event_text
from drainwright.storage.protocol import FieldEntry
from tests.field_job import AT, KEY, chain, event, field_store
from tests.web.field_laptop import Laptop

DEVICES, EACH, KILLS = 8, 1250, 8


@dataclass
class Device:
    """A tablet that has made all its entries and gets them out over a bad line."""

    name: str
    port: int
    chance: random.Random
    entries: list[FieldEntry] = field(default_factory=list)
    sent: int = 0
    """What the server said it has, the last time an answer came through."""

    def make(self) -> None:
        """All entries, with a clock that is set forward and back now and then."""
        minutes, texts = 0.0, []
        for number in range(EACH):
            jump = self.chance.random() < 0.01
            minutes += self.chance.uniform(-600, 600) if jump else self.chance.uniform(0, 2)
            texts.append(event_text(event("remark", minutes, reason=f"{self.name} {number}")))
        self.entries = chain(self.name, texts)

    def run(self, patience: float) -> None:
        """Send until the server has everything."""
        end = time.monotonic() + patience
        while self.sent < EACH and time.monotonic() < end:
            with suppress(OSError, http.client.HTTPException, ValueError):
                self._once()
            if self.chance.random() < 0.2:
                time.sleep(self.chance.uniform(0, 0.05))

    def _once(self) -> None:
        start = max(self.sent - self.chance.choice((0, 0, 0, 7, 40)), 0)  # repeats
        batch = self.entries[start : start + self.chance.randint(5, 150)]
        if self.chance.random() < 0.3:  # an earlier upload overtakes: gaps and reorderings
            batch = self.chance.sample(batch, len(batch))
            batch = batch[: self.chance.randint(1, len(batch))] if batch else batch
        body = json.dumps({"entries": [entry_json(one) for one in batch]}).encode()
        cut = self.chance.random()
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        with closing(connection):
            connection.putrequest("POST", "/field/-/upload")
            connection.putheader("Content-Type", "application/json")
            connection.putheader("Content-Length", str(len(body)))
            connection.endheaders()
            if cut < 0.1:
                connection.send(body[: len(body) // 2])
                return  # the line dies while it is sent
            connection.send(body)
            if cut < 0.2:
                return  # … or before the answer comes
            answer = connection.getresponse()
            told = json.loads(answer.read())
        if answer.status == 503:  # another device writes: it is told to try again
            return
        assert answer.status == 200, told
        self.sent = told["heads"].get(self.name, {"number": 0})["number"]


class Server:
    """The laptop's program in a process of its own, to be killed and brought back."""

    def __init__(self, path: Path, port: int) -> None:
        command = [sys.executable, "-m", "tests.web.field_laptop", str(path), str(port)]
        self._parent = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self._child = 0

    def start(self) -> None:
        """Up and answering."""
        assert self._parent.stdin is not None
        assert self._parent.stdout is not None
        self._parent.stdin.write(b"serve\n")
        self._parent.stdin.flush()
        self._child = int(self._parent.stdout.readline())

    def kill(self) -> None:
        """Gone in the middle of whatever it did."""
        os.kill(self._child, signal.SIGKILL)

    def close(self) -> None:
        """Both processes gone."""
        self.kill()
        self._parent.communicate(timeout=30)


@pytest.mark.slow
def test_nothing_is_lost_and_nothing_doubled(tmp_path: Path) -> None:
    path = tmp_path / "job.drainwright"
    with field_store(path):
        pass
    port = Laptop(path).port
    devices = [Device(f"tablet-{n}", port, random.Random(n)) for n in range(DEVICES)]
    for device in devices:
        device.make()
    server = Server(path, port)
    server.start()
    threads = [threading.Thread(target=device.run, args=(600,)) for device in devices]
    for thread in threads:
        thread.start()
    kills, chance = 0, random.Random(99)
    try:
        while any(thread.is_alive() for thread in threads):
            time.sleep(chance.uniform(0.02, 0.2))
            if sum(one.sent for one in devices) > (kills + 0.5) * DEVICES * EACH / (KILLS + 1):
                server.kill()
                kills += 1
                server.start()
        for thread in threads:
            thread.join()
        assert kills >= KILLS // 2
        _agree(path, devices)
        _office_gets_it_all(tmp_path, port)
    finally:
        server.close()


def _agree(path: Path, devices: list[Device]) -> None:
    with opened(str(path)) as store:
        found = [one.entry for one in entries_of(store, KEY)]
        with store.read() as session:
            assert session.verify(KEY) == ()
    assert len(found) == DEVICES * EACH
    assert len({one.id for one in found}) == DEVICES * EACH
    for device in devices:
        here = sorted((one for one in found if one.device == device.name), key=lambda e: e.number)
        assert here == device.entries


def _office_gets_it_all(folder: Path, port: int) -> None:
    """The same over a line that dies now and then, by sync."""
    chance, real = random.Random(5), asker(f"http://127.0.0.1:{port}")

    def bad(method: str, path: str, body: bytes | None, media: str) -> bytes:
        if chance.random() < 0.15:
            raise StorageError("dead")
        content = real(method, path, body, media)
        if chance.random() < 0.15:
            raise StorageError("dead before the answer came")
        return content

    with field_store(folder / "office.drainwright") as office:
        for _ in range(100):
            with suppress(StorageError):
                sync_field(Sides(office, KEY, bad, "office", AT))
                break
        assert len(entries_of(office, KEY)) == DEVICES * EACH
        with office.read() as session:
            assert session.verify(KEY) == ()
