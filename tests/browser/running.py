"""Practice mode as a process of its own, as a visitor starts it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
QUIET = {key: value for key, value in os.environ.items() if not key.startswith("WINTERBROOD_")}
PATIENCE = 60


@dataclass
class Process:
    """A running practice mode. `ended` is filled once it was asked to stop."""

    popen: subprocess.Popen[str]
    address: str
    said: str

    def stop(self, how: signal.Signals = signal.SIGTERM) -> tuple[int, str, str]:
        """Ask it to stop; its exit code, and all it said on both streams."""
        self.popen.send_signal(how)
        out, err = self.popen.communicate(timeout=PATIENCE)
        return self.popen.returncode, self.said + out, err


@contextmanager
def running(folder: Path) -> Iterator[Process]:
    """The command of the README on a free port, with data in `folder`."""
    port = str(free_port())
    command = [sys.executable, "-m", "bot", "practice", "--port", port, "--data", str(folder)]
    popen = subprocess.Popen(command, cwd=ROOT, env=QUIET, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        said = ""
        assert popen.stdout is not None
        while "Practice is open at" not in said:
            line = popen.stdout.readline()
            assert line, f"practice mode ended: {popen.communicate()[1]}"
            said += line
        yield Process(popen, said.partition("open at ")[2].partition(" ")[0], said)
    finally:
        if popen.poll() is None:
            popen.kill()
        popen.communicate()


def free_port() -> int:
    """A port that was free a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
