"""The set-up files agree with each other, and the wheel holds what the program needs."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import PackageNotFoundError, metadata, requires
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
FONTS = ROOT / "src" / "drainwright" / "papers" / "fonts"
# every sign the papers and drawings use beyond ASCII
SIGNS = "½¼¾⅛⅜⅝⅞°≥≤≈′″Øø→←×·–—−…±²³√παΔ∞§“”‘’•€éüñß"


def names(file: str) -> list[str]:
    """The packages of a requirements file, as written."""
    lines = (ROOT / file).read_text("utf-8").splitlines()
    return [line.strip() for line in lines if line.strip() and line[0] not in "#- "]


def plain(requirement: str) -> str:
    """A package's name alone, in one spelling."""
    name = re.match(r"[A-Za-z0-9._-]+", requirement)
    return re.sub(r"[-_.]+", "-", name[0]).lower() if name else ""


def locked(file: str) -> dict[str, str]:
    """Package and version of a lock file, the last where markers choose."""
    found = re.findall(r"^([\w.-]+)==(\S+)", (ROOT / file).read_text("utf-8"), re.MULTILINE)
    return {plain(name): version for name, version in found}


def shipped() -> set[str]:
    """All that an installation with every extra brings, as far as installed here."""
    extras = [one for extra in PROJECT["optional-dependencies"].values() for one in extra]
    waiting = [plain(name) for name in PROJECT["dependencies"] + extras]
    found: set[str] = set()
    while waiting:
        name = waiting.pop()
        if name in found:
            continue
        try:
            needed = requires(name) or []
        except PackageNotFoundError:
            continue
        found.add(name)
        waiting += [plain(text) for text in needed if "extra ==" not in text]
    return found


def test_the_lock_is_made_from_what_the_package_asks_for() -> None:
    assert sorted(names("requirements.in")) == sorted(PROJECT["dependencies"])
    extras = [one for extra in PROJECT["optional-dependencies"].values() for one in extra]
    assert set(extras) <= set(names("requirements-dev.in"))
    assert {plain(name) for name in names("requirements.in")} <= set(locked("requirements.txt"))
    assert {plain(name) for name in names("requirements-dev.in")} <= set(
        locked("requirements-dev.txt")
    )


def test_both_locks_hold_the_same_versions() -> None:
    developer = locked("requirements-dev.txt")
    assert {name: developer.get(name) for name in locked("requirements.txt")} == locked(
        "requirements.txt"
    )


@pytest.mark.parametrize(
    "file", ["requirements.txt", "requirements-dev.txt", "requirements-uv.txt"]
)
def test_a_lock_has_hashes_and_no_address(file: str) -> None:
    text = (ROOT / file).read_text("utf-8")
    assert "://" not in text
    blocks = re.split(r"\n(?=\S)", text.strip())
    assert [block.split()[0] for block in blocks if "--hash=sha256:" not in block] == []


def test_no_shipped_dependency_is_under_the_gpl() -> None:
    licenses = {}
    for name in shipped():
        told = metadata(name).json
        # some give the whole text, with the licenses of the compiler's run-time libraries in it
        texts = str(told.get("license_expression") or told.get("license") or "").splitlines()[:1]
        texts += [text for text in told.get("classifier", []) if text.startswith("License")]
        licenses[name] = " ".join(texts)
    assert len(licenses) > 20
    strict = re.compile(r"(?<![L])GPL|(?<!Lesser )General Public", re.IGNORECASE)
    assert {name for name, text in licenses.items() if strict.search(text)} == set()
    lesser = {name for name, text in licenses.items() if re.search("LGPL|Lesser", text)}
    assert lesser <= {"psycopg", "psycopg-binary"}, (
        "only the extra server may bring an LGPL library"
    )


def test_the_wheel_holds_fonts_and_licenses_and_no_tests(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=60)
    (wheel,) = tmp_path.glob("*.whl")
    inside = zipfile.ZipFile(wheel).namelist()
    for font in FONTS.glob("*.*"):
        assert f"drainwright/papers/fonts/{font.name}" in inside
    assert any(name.endswith("licenses/LICENSE") for name in inside)
    assert any("licenses/LICENSES/OFL-1.1" in name for name in inside)
    tops = {name.partition("/")[0] for name in inside}
    assert tops == {"drainwright", f"drainwright-{PROJECT['version']}.dist-info"}


@pytest.mark.parametrize("font", sorted(FONTS.glob("*.*")), ids=lambda path: path.name)
def test_a_font_has_the_signs_and_a_name_of_ours(font: Path) -> None:
    read = TTFont(font)
    assert {sign for sign in SIGNS if ord(sign) not in read.getBestCmap()} == set()
    digits = {read["hmtx"][read.getBestCmap()[ord(digit)]][0] for digit in "0123456789"}
    assert len(digits) == 1, "digits stand under each other in tables"
    titles = {str(name) for name in read["name"].names if name.nameID in {1, 3, 4, 6, 16}}
    assert all("rainwright" in title and "Source" not in title for title in titles)
    assert any("OFL" in str(name) for name in read["name"].names if name.nameID in {13, 14})
