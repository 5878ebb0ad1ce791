"""The documents of the contracts, each read once."""
import json
import pathlib
import re

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def document():
    return json.loads((ROOT / "config" / "asyncapi.json").read_text())


@pytest.fixture(scope="session")
def schemas():
    """By name, as in config/schemas."""
    return {path.stem: json.loads(path.read_text()) for path in (ROOT / "config" / "schemas").glob("*.json")}


@pytest.fixture(scope="session")
def leaves(document):
    """The channels' addresses below plainwater/<site>, parameters as +."""
    addresses = [channel["address"] for channel in document["channels"].values() if channel["address"]]
    return {re.sub(r"\{[^}]*\}", "+", a.removeprefix("{root}/{site}/")) for a in addresses if a.startswith("{root}/{site}/")}
