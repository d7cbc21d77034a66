"""Settings: flat names, unknown ones refused, the example file in step."""

import re
from pathlib import Path

import pytest

from bot.settings import PREFIX, Settings, SettingsError, read_settings

EXAMPLE = Path("config/example.env")


@pytest.fixture(autouse=True)
def _clean(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    for name in Settings.model_fields:
        monkeypatch.delenv(PREFIX + name.upper(), raising=False)


def test_defaults_need_nothing() -> None:
    settings = read_settings({})
    assert settings.token is None
    assert settings.database.startswith("sqlite")
    assert (settings.config / "cautions").is_dir()


def test_a_misspelt_name_is_refused_with_the_known_ones() -> None:
    with pytest.raises(SettingsError, match=r"WINTERBROOD_TOKN is no setting.*WINTERBROOD_TOKEN"):
        read_settings({"WINTERBROOD_TOKN": "x"})


def test_an_impossible_value_is_refused_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WINTERBROOD_LOG_LEVEL", "LOUD")
    with pytest.raises(SettingsError, match="WINTERBROOD_LOG_LEVEL"):
        read_settings({"WINTERBROOD_LOG_LEVEL": "LOUD"})


def test_the_token_never_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WINTERBROOD_TOKEN", "very-secret")
    assert "very-secret" not in repr(read_settings({}))


def test_the_example_file_lists_every_setting() -> None:
    example = (Path(__file__).parents[2] / EXAMPLE).read_text("utf-8")
    listed = set(re.findall(r"^# (WINTERBROOD_\w+)=", example, re.MULTILINE))
    assert listed == {PREFIX + name.upper() for name in Settings.model_fields}
