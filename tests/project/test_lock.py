"""The lock pins everything that pyproject.toml asks for, with hashes and without naming where it came from."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / "requirements.lock").read_text("utf-8")


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_every_dependency_is_pinned_with_hashes() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    wanted = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    wanted += [name for extra in project["project"]["optional-dependencies"].values() for name in extra]
    pinned = {normal(name) for name in re.findall(r"^([\w.-]+)==", LOCK, re.MULTILINE)}
    assert {normal(re.split(r"[\[<>=! ;]", name, maxsplit=1)[0]) for name in wanted} <= pinned
    assert LOCK.count("--hash=sha256:") >= len(pinned)


def test_the_lock_names_no_host() -> None:
    assert "://" not in LOCK
