"""The only reader of the environment. Flat names, secrets typed, unknown names refused.

`config/example.env` lists every setting; a test keeps both in step.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, SecretStr, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

PREFIX = "WINTERBROOD_"


class SettingsError(Exception):
    """A setting that cannot be read; `str(error)` is one line a complaint."""


class Settings(BaseSettings):
    """Settings of one process."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, env_file=".env", extra="ignore", frozen=True)

    token: SecretStr | None = None
    database: str = "sqlite+aiosqlite:///winterbrood.sqlite3"
    overlay: Path | None = None
    log_level: Literal["DEBUG", "INFO", "WARNING", "ERROR"] = "INFO"
    metrics_port: Annotated[int, Field(ge=1, le=65535)] | None = None
    metrics_host: str = "127.0.0.1"

    @property
    def config(self) -> Path:
        """The folder with the handbook that ships with the program."""
        return Path(__file__).resolve().parent.parent / "config"


def read_settings(environment: dict[str, str]) -> Settings:
    """Settings from the environment and `.env`; `environment` is checked for names that are not ours.

    Raises:
        SettingsError: an unknown name with our prefix, or a value that cannot be.
    """
    known = {PREFIX + name.upper() for name in Settings.model_fields}
    unknown = sorted(name for name in environment if name.upper().startswith(PREFIX) and name.upper() not in known)
    complaints = [f"{name} is no setting; known are: {', '.join(sorted(known))}." for name in unknown]
    try:
        settings = Settings()
    except ValidationError as problem:
        for error in problem.errors():
            name = PREFIX + "_".join(str(part) for part in error["loc"]).upper()
            complaints.append(f"{name}: {error['msg']}.")
        raise SettingsError("\n".join(complaints)) from problem
    if complaints:
        raise SettingsError("\n".join(complaints))
    return settings
