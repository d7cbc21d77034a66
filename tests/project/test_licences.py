"""Every pinned dependency is listed in the developers' page under the licence that its own metadata states.

A dependency under another licence than these, or none, fails here before it is shipped.
"""

from __future__ import annotations

import re
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).parents[2]
PERMITTED = {
    "0BSD",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSD",
    "CC0-1.0",
    "MIT",
    "MIT-CMU",
    "MPL-2.0",
    "PSF-2.0",
    "Zlib",
}
"""Licences that let anybody run, change and pass on the whole; MPL-2.0 asks it of its own files only."""
SPELT = {
    "Apache Software License": "Apache-2.0",
    "BSD License": "BSD",
    "MIT License": "MIT",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
    "Python Software Foundation License": "PSF-2.0",
}
"""Names of trove classifiers, from before metadata had licence expressions (PEP 639)."""


def pinned() -> set[str]:
    """Names in the lock."""
    return set(re.findall(r"^([\w.-]+)==", (ROOT / "requirements.lock").read_text("utf-8"), re.MULTILINE))


def listed() -> dict[str, str]:
    """Name -> licence, from the table of the developers' page."""
    page = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \|$", page.partition("### Licences of dependencies")[2], re.MULTILINE)
    return {name: licence for licence, names in rows[1:] for name in names.split(", ")}


def stated(name: str) -> str | None:
    """The licence in the metadata of an installed package; `None` where another platform or version needs it."""
    try:
        found = metadata.metadata(name).json
    except metadata.PackageNotFoundError:
        return None
    classifiers = [each.split(" :: ")[-1] for each in found.get("classifier", []) if each.startswith("License")]
    said = str(found.get("license_expression") or (classifiers or [str(found.get("license"))])[0])
    return SPELT.get(said, said)


def test_every_pinned_dependency_is_listed() -> None:
    assert listed().keys() == pinned()


def test_the_list_says_what_the_packages_say() -> None:
    said = {name: stated(name) for name in pinned()}
    assert len([name for name in said if said[name]]) > 70
    assert {name: licence for name, licence in listed().items() if said[name] not in {None, licence}} == {}


def test_all_licences_let_us_pass_the_bot_on() -> None:
    for licence in listed().values():
        assert set(re.split(r" AND | OR ", licence)) <= PERMITTED, licence
