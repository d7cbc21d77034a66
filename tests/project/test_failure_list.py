"""Every scenario of the failure list has a test: named after its number, or named here with what it is called.

The list: 60 ways in which reminders failed people elsewhere, collected with sources in the platform notes of the
project (T1 to T60).
"""

from __future__ import annotations

import re
from pathlib import Path

TESTS = Path(__file__).parents[1]
FUNCTION = re.compile(r"^(?:async )?def (test_\w+)\(", re.MULTILINE)
NUMBER = re.compile(r"(?<=_)t(\d{1,2})(?=_)")
UNDER_ANOTHER_NAME = {
    52: "chat/test_reminders.py::test_buttons_live_on_after_other_messages_were_edited",
    53: "chat/test_text.py::test_user_text_cannot_ping_link_or_format",
    54: "chat/test_reminders.py::test_twenty_colonies_come_in_one_message_with_a_picker",
    55: "services/test_season_posting.py::test_t6_two_processes_post_once",
    56: "services/test_season.py::test_an_edit_takes_approvals_back_and_leaves_cautions_and_figures",
    58: "store/test_migrate.py::test_an_upgrade_of_a_filled_file_copies_it_first_and_loses_no_row",
}
"""Scenarios whose test is older than the list, or belongs to another subject."""


def functions(file: Path) -> list[str]:
    """Names of the tests in a file."""
    return FUNCTION.findall(file.read_text("utf-8"))


def test_every_scenario_of_the_failure_list_has_a_test() -> None:
    named = {
        int(found) for file in TESTS.rglob("test_*.py") for name in functions(file) for found in NUMBER.findall(name)
    }
    assert named <= set(range(1, 61))
    assert sorted(set(range(1, 61)) - named - set(UNDER_ANOTHER_NAME)) == []


def test_what_goes_under_another_name_is_there() -> None:
    for place in UNDER_ANOTHER_NAME.values():
        file, name = place.split("::")
        assert name in functions(TESTS / file), place
