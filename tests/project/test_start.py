"""What the start of the bot may not cost."""

from __future__ import annotations

import subprocess
import sys


def test_the_start_does_not_import_what_few_starts_need() -> None:
    """Drawing takes a second and a half and some sixty megabytes, upgrading a database half a second."""
    asked = "import sys, bot.app; print(*sorted({name.partition('.')[0] for name in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout.split()
    assert "discord" in loaded
    assert not {"alembic", "matplotlib", "numpy", "PIL"} & set(loaded)
