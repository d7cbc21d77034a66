"""Which lines are shown, which are folded, and that every message keeps the platform's limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from simcord.components import walk_components

from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.marks import VERDICTS, Act, Scope, answer, read_act
from bot.adapters.chat.presenters.board import Board, Fixed, Row, arrange, components, pages
from bot.adapters.chat.presenters.lines import Line, Standing
from bot.care.duty import Duty, Outcome
from bot.services.colonies import MOST_COLONIES
from bot.services.records import OccurrenceId
from bot.services.sent_digests import VERDICTS as ASKED
from tests.chat.requests import check_rules, check_shape

SCOPE = Scope("d9223372036854775807")
REASON = "Sugar is what the workers run on; 80 workers at 24 °C call for it about every 3 days. " * 2
FIXED = Fixed(cautions="⚠️ **Danger.** " + "x" * 900, heading="This is what your colonies need today.", notes="-# note")


def line(number: int, colony: str = "Dusk", duty: Duty = Duty.SUGAR, **changes: object) -> Line:
    base = Line(id=OccurrenceId(number), colony=colony, duty=duty, reason=REASON)
    return replace(base, **changes)  # type: ignore[arg-type]  # names of fields are checked by replace itself


def many(colonies: int = 20, each: int = 3) -> list[Line]:
    duties = list(Duty)
    return [
        line(
            9_000_000_000_000_000_000 + 100 * colony + number, f"Colony of the long name *no. {colony}*", duties[number]
        )
        for number in range(each)
        for colony in range(colonies)
    ]


def payload(board: Board) -> dict[str, Any]:
    """The message as it is sent, checked against the platform's rules."""
    layout: Any = board_layout(board)
    body = {
        "components": layout.to_components(),
        "flags": 1 << 15,
        "allowed_mentions": {"parse": []},
    }
    check_rules(body)
    check_shape("POST", "/channels/1/messages", body)
    return body


def ids(lines: Sequence[Line]) -> list[int]:
    return [found.id for found in lines]


def test_six_lines_all_have_their_buttons() -> None:
    board = arrange(SCOPE, FIXED, [line(number) for number in range(1, 7)])
    assert [shown.row for shown in board.shown] == [Row.ANSWER] * 6
    assert not board.folded
    assert components(board) <= 40
    payload(board)


def test_the_count_of_components_is_the_librarys() -> None:
    for count in (1, 3, 6, 7, 60):
        board = arrange(SCOPE, FIXED, many(count, 1))
        assert components(board) == board_layout(board).total_children_count, count


def test_twenty_colonies_with_sixty_lines_fit_one_message() -> None:
    board = arrange(SCOPE, FIXED, many())
    assert len(board.shown) >= 3
    assert len(board.shown) + len(board.folded) == 60
    assert pages(board) == 3
    payload(board)


def test_the_largest_household_that_may_be_fits_one_message() -> None:
    lines = many(MOST_COLONIES, len(Duty))
    board = arrange(SCOPE, FIXED, lines)
    assert len(board.shown) + len(board.folded) == MOST_COLONIES * len(Duty)
    for page in (1, pages(board)):
        payload(arrange(SCOPE, FIXED, lines, page=page))


def test_every_folded_line_can_be_picked_on_some_page() -> None:
    lines = many()
    first = arrange(SCOPE, FIXED, lines)
    offered: set[str] = set()
    for page in range(1, pages(first) + 1):
        board = arrange(SCOPE, FIXED, lines, page=page)
        body = payload(board)
        select = next(part for part in walk_components(body["components"]) if part["type"] == 3)
        assert len(select["options"]) <= 25
        offered |= {option["value"] for option in select["options"]}
    assert {str(found) for found in ids(first.folded)} <= offered
    assert {"page1", "page2", "page3"} & offered


def test_texts_of_many_bytes_keep_the_limit() -> None:
    lines = [line(number, "蟻" * 40, reason="螞蟻" * 150) for number in range(1, 8)]
    board = arrange(SCOPE, FIXED, lines)
    assert board.shown
    payload(board)


def test_a_picked_line_comes_forward() -> None:
    lines = many()
    folded = arrange(SCOPE, FIXED, lines).folded[-1]
    board = arrange(SCOPE, FIXED, lines, focus=folded.id)
    assert folded.id in ids([shown.line for shown in board.shown])


def test_answered_lines_give_way_to_open_ones() -> None:
    lines = [line(number) for number in range(1, 9)]
    lines[:2] = [replace(found, standing=Standing.DONE, outcome=Outcome.DONE) for found in lines[:2]]
    board = arrange(SCOPE, FIXED, lines, focus=OccurrenceId(2))
    shown = ids([found.line for found in board.shown])
    assert 1 not in shown
    assert {2, 3, 4, 5, 6} <= set(shown), "the line just answered keeps its Undo"


def test_lines_of_a_colony_stay_together_under_one_heading() -> None:
    lines = [line(1, "Dusk", Duty.WATER, urgent=True), line(2, "Dawn"), line(3, "Dusk")]
    board = arrange(SCOPE, FIXED, lines)
    assert ids([shown.line for shown in board.shown]) == [1, 3, 2]
    assert [shown.text.startswith("###") for shown in board.shown] == [True, False, True]
    assert "now" in board.shown[0].text


@pytest.mark.parametrize("duty", list(ASKED))
def test_questions_after_a_done_fit_a_row(duty: Duty) -> None:
    asked = line(1, "Dusk", duty, standing=Standing.DONE, outcome=Outcome.DONE, ask=ASKED[duty])
    asked = replace(asked, next_day=date(2027, 6, 5))
    board = arrange(SCOPE, FIXED, [replace(asked, id=OccurrenceId(number)) for number in range(1, 7)])
    assert board.shown[0].row is Row.VERDICT
    payload(board)


def test_one_line_needs_no_all_done() -> None:
    assert not arrange(SCOPE, FIXED, [line(1)]).all_done
    assert arrange(SCOPE, FIXED, [line(1), line(2)]).all_done


def test_identifiers_can_be_read_back() -> None:
    for act in Act:
        for verdict in VERDICTS if act is Act.VERDICT else [None]:
            identifier = answer(act, 7, SCOPE, verdict)
            assert len(identifier) <= 100
            assert read_act(identifier.split(":")[2]) == (act, verdict)


@pytest.mark.parametrize("forged", ["found", "done3", "found99", "nothing"])
def test_forged_acts_are_refused(forged: str) -> None:
    with pytest.raises((ValueError, IndexError)):
        read_act(forged)


def test_every_verdict_of_the_services_has_a_number() -> None:
    assert {verdict for asked in ASKED.values() for verdict in asked} <= set(VERDICTS)
