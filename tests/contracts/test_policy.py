"""config/CONTRACTS.md and CHANGELOG.md name the existing versions and schemas."""
import re

from conftest import ROOT

POLICY = (ROOT / "config" / "CONTRACTS.md").read_text()


def test_all_versions_are_equal(document):
    version = document["info"]["version"]
    assert re.search(r"^Contract version: (\S+)", POLICY, re.M)[1] == version
    assert re.search(r"project\(plainwater VERSION (\S+)", (ROOT / "CMakeLists.txt").read_text())[1] == version
    # The newest release; unreleased changes are above it without a version.
    assert re.search(r"^## (\d\S*)", (ROOT / "CHANGELOG.md").read_text(), re.M)[1] == version


def test_the_schemas_named_exist(schemas):
    named = dict(re.findall(r"^- `(urn:plainwater:schema:[a-z]+)` in `schemas/([a-z]+)\.json`", POLICY, re.M))
    assert named == {schema["$id"]: name for name, schema in schemas.items()}
    for urn in re.findall(r"urn:plainwater:schema:[a-z]+", POLICY):
        assert urn in named


def test_files_named_by_the_policy_exist():
    for path in re.findall(r"`([\w./-]+\.(?:md|json))`", POLICY):
        assert (ROOT / "config" / path).exists() or (ROOT / path).exists(), path
