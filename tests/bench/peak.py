"""The most memory that this process has had at a time, as Linux tells it.

`getrusage` would begin with the memory of the process that started this one, which outlives fork and exec.
"""

from __future__ import annotations

from pathlib import Path


def peak_mb() -> float:
    """In MB of 1,048,576 bytes."""
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    (peak,) = (line for line in lines if line.startswith("VmHWM:"))
    return int(peak.split()[1]) / 1024
