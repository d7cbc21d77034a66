"""Logs as one JSON object a line on standard error; exceptions as type and place, never with their text.

The text of an exception may hold what a keeper typed or a parameter of a statement, so only incident numbers, codes and
frames are written.
"""

from __future__ import annotations

import logging
import sys
import traceback
from collections.abc import MutableMapping
from typing import Any

import structlog

FRAMES = 8
"""Innermost frames of an exception that are written."""


def configure(level: str) -> None:
    """Write our own logs from `level` on, and warnings of the libraries."""
    steps: list[structlog.types.Processor] = [
        structlog.processors.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        without_text,
    ]
    structlog.configure(
        processors=[*steps, structlog.processors.JSONRenderer()],
        wrapper_class=structlog.make_filtering_bound_logger(logging.getLevelNamesMapping()[level]),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
    )
    libraries = logging.StreamHandler(sys.stderr)
    render: list[structlog.types.Processor] = [
        structlog.stdlib.ProcessorFormatter.remove_processors_meta,
        structlog.processors.JSONRenderer(),
    ]
    libraries.setFormatter(structlog.stdlib.ProcessorFormatter(processors=render, foreign_pre_chain=steps))
    root = logging.getLogger()
    root.handlers = [libraries]
    root.setLevel(logging.WARNING)


def without_text(_: Any, __: str, event: MutableMapping[str, Any]) -> MutableMapping[str, Any]:
    """Replace an exception by its type and the frames it came through."""
    found = event.pop("exc_info", None)
    error = sys.exc_info()[1] if found is True else found[1] if isinstance(found, tuple) else found
    if isinstance(error, BaseException):
        event["error"] = type(error).__name__
        frames = traceback.extract_tb(error.__traceback__)[-FRAMES:]
        event["at"] = [f"{frame.filename.rpartition('/')[2]}:{frame.lineno} {frame.name}" for frame in frames]
    return event
