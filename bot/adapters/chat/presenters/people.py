"""What stands between two members, as text: questions, agreements, reports, colonies that change hands.

Members are named by mention, which pings nobody in our messages. Nothing of a place, of notes or of a history goes in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_name, joined, shown
from bot.adapters.chat.presenters.words import DUTY, OUTCOME, capital
from bot.care.duty import Duty, Outcome
from bot.services.absence import Return
from bot.services.handover import Moved, OfferView
from bot.services.records import ColonyRecord, KeeperId, KeeperRecord
from bot.services.sitting import SatColony, SatFeeder, SittingView
from bot.services.sitting_records import Note, NoteKind, SittingState

MOST_NAMED = 12
"""Colonies named in a report or question; the others are counted."""
MOST_TASKS = 10
LONGEST_REPORT = 2_500
"""Characters of the colonies in a report; with long names and much that was done fewer are told."""


def person(keeper_id: int) -> str:
    """A member by name, as the reader's own device shows it."""
    return f"<@{keeper_id}>"


def days_said(view: SittingView) -> str:
    """From which day until which."""
    return f"from {day_name(view.sitting.since)} until {day_name(view.sitting.until)}"


def question_page(view: SittingView) -> Page:
    """What the member is asked, before they agree."""
    asker = person(view.sitting.keeper_id)
    text = f"{asker} is away {days_said(view)} and asks you to look after {_names(view)}."
    how = (
        "If you accept, I remind you in their place at your own hours, with a short instruction for each line. "
        "You can stop at any time with `/my requests`."
    )
    return Page(title="Would you sit?", blocks=(text, how), cautions=view.cautions)


def asked_page(view: SittingView, *, reached: bool) -> Page:
    """What the keeper hears after asking."""
    sitter = person(view.sitting.sitter_id)
    told = f"I asked {sitter} to look after {_names(view)} {days_said(view)}."
    if not reached:
        told = (
            f"I keep your question for {sitter}, but I cannot write to them: ask them to open `/my requests`. "
            f"It is about {_names(view)} {days_said(view)}."
        )
    until = "Until they accept, water and the winter rest keep coming to you. `/my requests` shows how it stands."
    return Page(title="A sitter is asked", blocks=(told, until))


def accepted_page(view: SittingView) -> Page:
    """What a sitter must know, cautions first."""
    blocks = [f"Thank you. I remind you {days_said(view)}; the days are those of {person(view.sitting.keeper_id)}."]
    blocks += ["\n".join(_card(colony)) for colony in view.colonies]
    blocks += [_feeder_card(feeder) for feeder in view.feeders]
    blocks.append("If anything looks wrong, tell the keeper. When it ends I hand them a report of what you did.")
    return Page(title="You sit", blocks=tuple(blocks), cautions=view.cautions, advice=True)


def _card(colony: SatColony) -> Iterator[str]:
    yield f"**{shown(colony.name)}** ({colony.species})"
    for duty, text in colony.tasks[:MOST_TASKS]:
        yield f"{capital(DUTY[duty])}: {text}"


def _feeder_card(feeder: SatFeeder) -> str:
    return f"**{shown(feeder.name)}** ({feeder.kind})\nEvery {feeder.every_days} days: {feeder.task}"


def declined_page() -> Page:
    """What a member hears who would rather not."""
    return Page(title="Declined", blocks=("That is fine. I tell them so.",))


def stopped_page(view: SittingView, who: KeeperId) -> Page:
    """What whoever stopped it hears."""
    if view.sitting.state is SittingState.ASKED:
        return Page(title="Taken back", blocks=("The question is taken back. You are reminded as before.",))
    if who == view.sitting.keeper_id:
        text = "You are reminded again from now on. A report comes with your next message."
    else:
        text = f"Thank you for what you did. {person(view.sitting.keeper_id)} is reminded again from now on."
    return Page(title="The sitting is over", blocks=(text,))


def away_page(keeper: KeeperRecord) -> Page:
    """An absence without a sitter."""
    if keeper.away_from is None or keeper.away_until is None:
        return Page(title="You are here", blocks=("`/my away` with `until` tells me when you are back.",))
    text = (
        f"From {day_name(keeper.away_from)} until {day_name(keeper.away_until)} I only remind you of water and the "
        "winter rest. `/my back` ends it sooner."
    )
    return Page(title="You are away", blocks=(text,))


def back_page(done: Return) -> Page:
    """What came back."""
    if not (done.was_away or done.was_silent or done.sittings):
        text = "Everything is reminded of as usual already."
    else:
        text = "Welcome back. Everything is reminded of again."
        text += " Your sitter’s report comes with the next message." if done.sittings else ""
    return Page(title="You are back", blocks=(text,))


def sitting_line(view: SittingView, who: KeeperId) -> str:
    """One agreement or question in a list."""
    names = _names(view)
    if who == view.sitting.keeper_id:
        other = person(view.sitting.sitter_id)
        what = "was asked to sit" if view.sitting.state is SittingState.ASKED else "sits for you"
        return f"{other} {what}: {names}, {days_said(view)}."
    other = person(view.sitting.keeper_id)
    what = "asks you to sit" if view.sitting.state is SittingState.ASKED else "counts on you"
    return f"{other} {what}: {names}, {days_said(view)}."


def offer_line(view: OfferView, who: KeeperId) -> str:
    """One offer in a list."""
    what = f"{shown(view.name)} ({view.species})"
    if who == view.offer.keeper_id:
        return f"You offer {what} to {person(view.offer.to_id)}, for good."
    return f"{person(view.offer.keeper_id)} offers you {what}, for good."


def give_page(record: ColonyRecord, to: int) -> Page:
    """What the keeper confirms before a colony is offered."""
    name = shown(record.colony.name)
    text = (
        f"{name} would go to {person(to)} for good, with its whole log and the notes in it. Nothing of it stays with "
        "you, and nobody can undo it but them. They must accept first, within two weeks."
    )
    return Page(title=f"Hand {name} over?", blocks=(text,))


def offered_page(view: OfferView, *, reached: bool) -> Page:
    """What the giver hears."""
    to = person(view.offer.to_id)
    text = f"I asked {to}. Until they accept, {shown(view.name)} stays yours; `/my requests` takes it back."
    if not reached:
        text = f"I keep the offer, but I cannot write to {to}: ask them to open `/my requests`."
    return Page(title="Offered", blocks=(text,))


def offer_page(view: OfferView) -> Page:
    """What the member is asked."""
    text = (
        f"{person(view.offer.keeper_id)} wants to hand you {shown(view.name)} ({view.species}), for good and with its "
        "history. If you accept, it stands among your colonies, and I plan it for your place."
    )
    return Page(title="Would you take a colony?", blocks=(text,), cautions=view.cautions)


def moved_page(moved: Moved) -> Page:
    """What the new keeper hears."""
    name = shown(moved.colony.colony.name)
    text = f"{name} is yours. It has just travelled: give water, and leave it in peace for some days."
    if moved.renamed is not None:
        text += f" You had a colony called {shown(moved.renamed)} already, hence the number."
    check = "`/colony edit` tells me its nest and heater as they are with you, `/rest plan` where it would rest."
    return Page(title="A colony moved in", blocks=(text, check), cautions=moved.cautions, advice=True)


def refused_page() -> Page:
    """An offer that comes to nothing, for either side."""
    return Page(title="The offer is gone", blocks=("The colony stays where it is.",))


def note_text(note: Note) -> str:
    """A note as a paragraph of a reminder."""
    about = note.about
    if note.kind in ANSWERS:
        return ANSWERS[note.kind](about)
    sitter = person(int(about["sitter"]))
    if note.kind is NoteKind.UNREACHABLE:
        names = joined([shown(str(name)) for name in about["colonies"][:MOST_NAMED]])
        return f"I cannot reach {sitter} by direct message. Until that changes, I remind you of {names} myself."
    since, ended = (day_name(date.fromisoformat(str(about[key]))) for key in ("since", "ended"))
    lines: list[str] = []
    for colony in about["colonies"][:MOST_NAMED]:
        line = _reported(colony)
        if lines and len("\n".join([*lines, line])) > LONGEST_REPORT:
            break
        lines.append(line)
    more = len(about["colonies"]) - len(lines)
    first = f"**{sitter} looked after your colonies from {since} until {ended}.**"
    return "\n".join([first, *lines, *([f"… and {more} more: `/colony history`."] if more > 0 else [])])


def _accepted(about: Mapping[str, Any]) -> str:
    since, until = (_day(str(about[key])) for key in ("since", "until"))
    who = person(int(about["member"]))
    return f"{who} looks after {_told(about)} from {since} until {until}. You get a report at the end."


def _declined(about: Mapping[str, Any]) -> str:
    who = person(int(about["member"]))
    return f"{who} cannot look after {_told(about)}. Water keeps coming to you; `/my away` asks again."


def _stopped(about: Mapping[str, Any]) -> str:
    return f"{person(int(about['member']))} ended the sitting of {_told(about)}; its keeper is reminded again."


def _moved(about: Mapping[str, Any]) -> str:
    return f"{person(int(about['member']))} took {_told(about)} over."


def _refused(about: Mapping[str, Any]) -> str:
    who = person(int(about["member"]))
    return f"The offer of {_told(about)} is gone: {who} decided against it. It stays where it is."


ANSWERS: Mapping[NoteKind, Callable[[Mapping[str, Any]], str]] = {
    NoteKind.ACCEPTED: _accepted,
    NoteKind.DECLINED: _declined,
    NoteKind.STOPPED: _stopped,
    NoteKind.MOVED: _moved,
    NoteKind.REFUSED: _refused,
}
"""What the other side's answer tells."""


def _told(about: Mapping[str, Any]) -> str:
    """Names of colonies, as they stand in a note."""
    names = [shown(str(name)) for name in about["colonies"]]
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    return joined([*names[:MOST_NAMED], *more]) or "no colony any more"


def _reported(colony: Mapping[str, Any]) -> str:
    done = [_done(entry) for entry in colony["done"]]
    looked = [f"{DUTY[Duty(duty)]} not needed {_times(times)}" for duty, times in colony["looked"].items()]
    told = "; ".join([*done, *looked]) or "nothing was written down"
    waits = [f"{DUTY[Duty(entry['duty'])]} since {_day(entry['day'])}" for entry in colony["open"]]
    return f"**{shown(str(colony['name']))}** {told}." + (f" Still open: {joined(waits)}." if waits else "")


def _done(entry: Mapping[str, Any]) -> str:
    found = joined([f"{OUTCOME[Outcome(outcome)]} {_times(times)}" for outcome, times in entry["found"].items()])
    last = day_name(datetime.fromisoformat(str(entry["last"])).date())
    return f"{DUTY[Duty(entry['duty'])]} {_times(entry['times'])}, last {last}" + (f" ({found})" if found else "")


def _day(text: str) -> str:
    return day_name(date.fromisoformat(text))


def _times(count: int) -> str:
    return "once" if count == 1 else "twice" if count == 2 else f"{count} times"


def _names(view: SittingView) -> str:
    kept = [(colony.name, colony.species) for colony in view.colonies]
    kept += [(feeder.name, feeder.kind) for feeder in view.feeders]
    named = [f"{shown(name)} ({kind})" for name, kind in kept[:MOST_NAMED]]
    more = len(kept) - MOST_NAMED
    return joined([*named, *([f"{more} more"] if more > 0 else [])]) or "no colony any more"
