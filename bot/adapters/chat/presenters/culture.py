"""Feeder cultures as text: what is in them, when they want care, when they are grown, what was taken out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bot.adapters.chat.presenters.care import SURE, inputs_text
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_name, day_said, shown
from bot.adapters.chat.presenters.words import capital
from bot.care.units import say_temperature
from bot.services.cultures import LOOK_BACK, CultureView
from bot.services.records import CultureRecord, KeeperId

MOST_TOLD = 12
"""Cultures told in full; the others are named."""
WEEKS = LOOK_BACK.days // 7
NONE_YET = (
    "You have no feeder culture here yet. `/culture add` begins to remember one: I then remind you of its care in your "
    "daily message."
)


def added_page(view: CultureView) -> Page:
    """A culture that was begun."""
    return Page(title=f"Noted: {shown(view.record.culture.name)}", blocks=(_card(view),), cautions=view.cautions)


def cultures_page(views: Sequence[CultureView]) -> Page:
    """All cultures of a keeper, with their cautions once."""
    if not views:
        return Page(title="Feeder cultures", blocks=(NONE_YET,))
    cautions = tuple({caution.id: caution for view in views for caution in view.cautions}.values())
    blocks = [_card(view) for view in views[:MOST_TOLD]]
    more = [shown(view.record.culture.name) for view in views[MOST_TOLD:]]
    blocks += [f"Further: {', '.join(more)}."] if more else []
    return Page(title="Feeder cultures", blocks=tuple(blocks), cautions=cautions)


def culture_page(view: CultureView) -> Page:
    """One culture with the reasons behind its dates."""
    blocks = [_card(view)]
    if view.plan.occurrences:
        why = view.plan.occurrences[0].why
        blocks += [f"**The rule** {why.rule}", inputs_text(why.inputs)]
        blocks.append("\n".join(["**What would change it**", *why.would_change]))
        blocks.append(
            "\n".join(["**Where it comes from**", f"How sure: {SURE[why.evidence.confidence]}.", *view.sources])
        )
    return Page(title="Feeder culture", blocks=tuple(blocks), cautions=view.cautions, advice=True)


def noted_page(view: CultureView, said: str, who: KeeperId) -> Page:
    """What was written down, and what follows; a sitter is not shown what the keeper knows of it."""
    urgent = view.cautions if view.plan.failing else ()
    card = [_card(view)] if view.record.keeper_id == who else []
    blocks = (f"✓ Written down for **{shown(view.record.culture.name)}**: {said}.", *card)
    return Page(title="Noted", blocks=blocks, cautions=urgent)


def removed_page(record: CultureRecord) -> Page:
    """A culture that ended."""
    text = (
        f"I remind you of **{shown(record.culture.name)}** no more, and its notes are gone. Freeze what is left of it "
        "for a week before it goes into the bin."
    )
    return Page(title="The culture has ended", blocks=(text,))


def _card(view: CultureView) -> str:
    name, kind = view.record.culture.name, view.plan.kind.name
    title = f"**{shown(name)}**" if name == kind else f"**{shown(name)}** ({kind})"
    return "\n".join([title, *_lines(view)])


def _lines(view: CultureView) -> Iterator[str]:
    culture = view.record.culture
    known = [f"begun {day_name(culture.started)}"] if culture.started is not None else []
    known += [f"about {culture.animals} animals"] if culture.animals is not None else []
    if culture.temperature_c is not None:
        known.append(f"at {say_temperature(culture.temperature_c, view.units)}")
    if known:
        yield capital(", ".join(known)) + "."
    if not view.plan.failing:
        yield view.plan.growth
    lately = [f"{view.taken} taken out"] * bool(view.taken) + [f"{view.died} died"] * bool(view.died)
    if lately:
        yield f"In the last {WEEKS} weeks: {', '.join(lately)}."
    if view.plan.occurrences:
        found = view.plan.occurrences[0]
        yield f"Care next {day_said(found.day)}: {found.reason if view.plan.failing else view.plan.kind.tasks}"
