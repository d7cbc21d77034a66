"""The shape of the project: sizes, names, opening docstrings, and documents that keep step with the code."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted(path for path in (ROOT / "bot").rglob("*.py"))
REFUSED = {"utils", "util", "common", "helpers", "helper", "misc", "base", "manager", "types"}
LONGEST_MODULE = 350
LONGEST_FUNCTION = 60
TOP = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "bot",
    "config",
    "migrations",
    "pyproject.toml",
    "requirements.lock",
    "tests",
}


def shown(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.mark.parametrize("path", MODULES, ids=shown)
def test_modules_open_with_a_docstring_and_stay_readable(path: Path) -> None:
    text = path.read_text("utf-8")
    tree = ast.parse(text)
    assert ast.get_docstring(tree), "say in one to five lines what the module decides"
    assert text.count("\n") <= LONGEST_MODULE
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= LONGEST_FUNCTION, f"{node.name} has {length} lines"


@pytest.mark.parametrize("path", MODULES, ids=shown)
def test_module_names_say_what_is_inside(path: Path) -> None:
    assert not REFUSED & set(path.relative_to(ROOT).with_suffix("").parts)


def test_the_top_level_is_fixed() -> None:
    ignored = {".git", ".venv", ".env", "uv.lock"}
    found = {path.name for path in ROOT.iterdir()} - ignored
    assert {name for name in found if not name.endswith("_cache") and name != ".hypothesis"} <= TOP


def test_the_readme_opens_with_the_job_and_names_every_command_line() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    assert readme.startswith("# Winterbrood\n\nWinterbrood is a chat bot")
    parser = (ROOT / "bot" / "__main__.py").read_text("utf-8")
    for name in re.findall(r'add_parser\(\s*"(\w+)"', parser):
        assert re.search(rf"python -m bot {name}\b|db {name}\b", readme), f"README does not mention `{name}`"


def test_documents_point_at_files_that_exist() -> None:
    for document in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / document).read_text("utf-8")
        for name in re.findall(r"`((?:bot|config|tests|migrations)/[\w./-]+)`", text):
            assert (ROOT / name).exists(), f"{document} names {name}"


def test_every_module_folder_stands_in_the_map() -> None:
    developers = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for folder in sorted({path.parent for path in MODULES}):
        name = shown(folder)
        assert f"{name}/" in developers or f"{folder.name}/" in developers, f"DEVELOPERS.md does not map {name}/"
