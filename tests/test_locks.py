"""The locks hold what the project asks for, every version by its digests, and name no address to fetch from."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
WANTED = [*PROJECT["dependencies"], *(name for extra in EXTRAS.values() for name in extra)]
PINNED = re.compile(r"^(?P<name>[A-Za-z0-9._-]+)==(?P<version>[^\s;\\]+)", re.MULTILINE)
LOCKED = {canonicalize_name(match["name"]): match["version"] for match in PINNED.finditer(LOCK)}


@pytest.mark.parametrize("wanted", WANTED)
def test_a_dependency_is_locked_at_a_version_it_allows(wanted: str) -> None:
    requirement = Requirement(wanted)
    version = LOCKED[canonicalize_name(requirement.name)]
    assert requirement.specifier.contains(version), f"{wanted}: locked at {version}"


def test_every_locked_version_has_a_digest() -> None:
    blocks = re.split(r"\n(?=[A-Za-z0-9])", LOCK)
    without = [block.splitlines()[0] for block in blocks if PINNED.match(block) and "--hash=sha256:" not in block]
    assert len(LOCKED) > len(WANTED)
    assert not without


def test_no_lock_names_an_address() -> None:
    packages = json.loads((ROOT / "pwa" / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    assert "://" not in LOCK
    assert len(packages) > 1
    assert not [name for name, package in packages.items() if "resolved" in package]
    assert not [
        name for name, package in packages.items() if name and not package.get("integrity", "").startswith("sha512-")
    ]
