"""Starting and stopping: the address, a clean end, and one sentence for what is missing."""

from __future__ import annotations

import signal
import sys
from pathlib import Path

import pytest

from bot.practice import MISSING, practice
from tests.browser.running import running


def test_it_prints_its_address_and_ends_cleanly_on_ctrl_c(folder: Path) -> None:
    with running(folder) as process:
        assert process.address.startswith("http://127.0.0.1:")
        code, out, err = process.stop(signal.SIGINT)
    assert code == 0
    assert f"kept in {folder}" in out
    assert out.endswith("Practice is closing.\n")
    assert "Traceback" not in out + err


def test_without_the_simulated_platform_it_says_what_to_add(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in [name for name in sys.modules if name.startswith("bot.practice.")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "simcord", None)
    assert practice(0, None) == 1
    assert capsys.readouterr().err == f"{MISSING}\n"


def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    assert practice(0, tmp_path / "file") == 1
    said = capsys.readouterr().err
    assert said.startswith("The folder “")
    assert said.count("\n") == 1
