"""The season as text: setup, what lies ahead, the state of a notice, log, check and what a member agreed to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_name, joined, shown, stamp
from bot.adapters.chat.presenters.words import DUTY, capital
from bot.care.phase import Phase
from bot.care.season.community import Half
from bot.care.season.figures import FLOOR, GroupFigures
from bot.care.season.language import SeasonWords
from bot.services.rest import RestView
from bot.services.season_check import CommunityCheck, Overdue
from bot.services.season_desk import NoticeView
from bot.services.season_drafts import Ahead
from bot.services.season_hall import HallHealth
from bot.services.season_members import Sight
from bot.services.season_records import Act, Consent, LogLine, Notice, NoticeId, NoticeState, SeasonSetup

STATE = {
    NoticeState.DRAFT: "Draft",
    NoticeState.SCHEDULED: "Scheduled",
    NoticeState.POSTING: "On its way",
    NoticeState.PAUSED: "Paused",
    NoticeState.POSTED: "Posted",
    NoticeState.CANCELLED: "Cancelled",
    NoticeState.RETRACTED: "Retracted",
}
HALF = {Half.NORTH: "north", Half.SOUTH: "south", Half.TROPICS: "tropics"}
MOST_LINES = 25


def setup_page(setup: SeasonSetup, health: HallHealth, language: SeasonWords) -> Page:
    """How the season is led here, and what is in the way; `language` is the one of notices written from now on."""
    role = "nobody" if setup.role_id is None else f"<@&{setup.role_id}>"
    helper = (
        "none; `/season draft` shows what waits"
        if setup.helper_channel_id is None
        else f"<#{setup.helper_channel_id}>; I write there when a draft waits"
    )
    leader = "" if setup.leader_role_id is None else f", and <@&{setup.leader_role_id}>"
    figures = "of members who agree, in groups of five or more" if setup.count else "none; dates by calendar"
    lines = [
        f"**Notices** in <#{setup.channel_id}>, mentioning {role}",
        f"**Moderators’ channel** {helper}",
        f"**Led by** those who manage this server{leader}",
        f"**Hours** of {setup.zone_name}, at {setup.post_at:%H:%M}; temperatures in °{setup.units.value}",
        f"**Language** {language.name}, in notices written from now on",
        f"**For members in** {joined([HALF[half] for half in setup.halves])}",
        (
            f"**Ahead** {setup.lead_days} days before a stage begins, {setup.prepare_days} days for getting ready; "
            f"drafts {setup.draft_days} days before that"
        ),
        f"**Figures** {figures}",
        f"**Approval** by {'two moderators' if setup.two_approve else 'one moderator'}",
        f"**Reminder threads** {_threads(setup)}",
    ]
    return Page(title="The season of this server", blocks=("\n".join(lines), *_health(health)))


def ahead_page(
    stages: Sequence[Ahead], figures: Sequence[GroupFigures] | None, setup: SeasonSetup, words: SeasonWords
) -> Page:
    """What lies ahead, with the state of each notice."""
    lines = [_stage(found, several=len(setup.halves) > 1) for found in stages]
    blocks = ["\n".join(lines) or "Nothing lies ahead."]
    if figures:
        total = sum(group.colonies for group in figures)
        groups = [f"{group.colonies:,} {words.cycle[group.key.dormancy]} ({HALF[group.key.half]})" for group in figures]
        blocks.append(f"**Counted** about {total:,} colonies, of these {joined(groups)}.")
    elif figures is not None:
        blocks.append(f"**Counted** no figures yet: they appear once at least {FLOOR} members agree (`/season share`).")
    blocks.append("`/season draft` opens a notice, or writes one ahead of its time.")
    return Page(title="The season ahead", blocks=tuple(blocks))


def _stage(found: Ahead, *, several: bool) -> str:
    where = f" ({HALF[found.half]})" if several else ""
    source = "by members’ plans" if found.begins.counted else "by calendar"
    state = f"notice about {day_name(found.post_day)}" if found.notice is None else _state(found.notice)
    return f"**{day_name(found.begins.day)}** {found.stage.value}{where}, {source} · {state}"


def _state(notice: Notice) -> str:
    said = STATE[notice.state].lower()
    if notice.state in {NoticeState.DRAFT, NoticeState.SCHEDULED}:
        return f"{said} for {day_name(notice.post_day)}, {notice.post_wall:%H:%M}"
    return said


def _threads(setup: SeasonSetup) -> str:
    if setup.thread_channel_id is None:
        return "none; `threads` names a channel, for members who agree and whose direct messages are closed"
    return f"under <#{setup.thread_channel_id}>, each for one member who agreed"


def desk_lines(view: NoticeView) -> Iterator[str]:
    """The state of one notice, for moderators."""
    notice, setup = view.notice, view.setup
    role = "nobody" if setup.role_id is None else f"<@&{setup.role_id}>"
    if notice.state is NoticeState.POSTED and notice.posted_at is not None:
        yield f"**Posted** {stamp(notice.posted_at)} in <#{notice.channel_id}>"
    elif notice.state in {NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.PAUSED}:
        when = f"{day_name(notice.post_day)}, {notice.post_wall:%H:%M} ({stamp(notice.post_at)})"
        yield f"**{STATE[notice.state]}** for {when} in <#{setup.channel_id}>, mentioning {role}"
    else:
        yield f"**{STATE[notice.state]}**"
    if notice.approved_by:
        yield f"Approved by {joined([_person(actor) for actor in notice.approved_by])}"
    if notice.amendment is not None:
        yield (
            f"**New words** from {_person(notice.amended_by or 0)}, shown above, wait for a second moderator; "
            "until then the channel shows the ones before"
        )
    elif view.missing:
        yield f"Waits for {'an approval' if view.missing == 1 else f'{view.missing} approvals'}"
    if notice.problem:
        yield f"**In the way** {notice.problem}"
    yield from (f"**In the way** {sentence}" for sentence in view.health.sentences if sentence != notice.problem)


def log_page(lines: Sequence[LogLine], notices: Sequence[Notice]) -> Page:
    """Who did what, and when; `notices` are called by their stage."""
    names = {notice.id: f"“{stage_heading(notice)}”" for notice in notices}
    told = [_log_line(line, names) for line in lines[:MOST_LINES]]
    return Page(title="Log of the season", blocks=("\n".join(told) or "Nothing was done yet.",))


def _log_line(line: LogLine, names: Mapping[NoticeId, str]) -> str:
    who = "I" if line.actor is None else _person(line.actor)
    notice = "" if line.notice_id is None else f" {names.get(line.notice_id, 'a notice that is gone')}"
    detail = f" ({shown(line.detail, 120)})" if line.detail and line.act is not Act.PAUSED else ""
    return f"{stamp(line.at)} {who}: {line.act.value}{notice}{detail}"


def _person(actor: int) -> str:
    return f"<@{actor}>" if actor else "somebody whose data was deleted"


def check_page(check: CommunityCheck) -> Page:
    """How the community fares."""
    blocks: list[str] = []
    if check.silent:
        blocks.append(
            "Somebody who agreed to be helped may need it, but the platform does not tell me now who is still here, "
            "so I name nobody. Look again in some minutes."
        )
    elif check.overdue:
        told = [_overdue(found) for found in check.overdue[:MOST_LINES]]
        told += [f"… and {len(check.overdue) - MOST_LINES} more lines."] if len(check.overdue) > MOST_LINES else []
        blocks.append("**Overdue, of members who agreed to be helped**\n" + "\n".join(told))
    elif check.helped:
        blocks.append(f"Nothing is overdue among the {check.helped} who agreed to be helped.")
    else:
        blocks.append("Nobody has agreed to be helped yet. Members do that with `/season share`.")
    if check.unreachable:
        people = joined([f"<@{keeper}>" for keeper in check.unreachable])
        blocks.append(f"**Direct messages closed** {people}. A kind word in a channel may reach them.")
    if check.more:
        blocks.append(
            f"{check.more} more member{' is' if check.more == 1 else 's are'} named here when these are helped."
        )
    blocks += [f"**Paused** {shown(notice.heading, 90)}: {notice.problem or ''}" for notice in check.paused]
    blocks += _health(check.health)
    return Page(title="How the community fares", blocks=tuple(blocks))


def _overdue(found: Overdue) -> str:
    days = f"{found.days_late} day{'s' if found.days_late > 1 else ''}"
    return f"<@{found.keeper_id}> · {shown(found.colony)} · {DUTY[found.duty]}, {days} late"


def share_page(consent: Consent, *, threads_allowed: bool) -> Page:
    """What a member agreed to here, and whether moderators allow threads."""
    threads = "yes" if consent.threads else "no"
    here = "" if threads_allowed else " Moderators here have not allowed it yet, so nothing is said until they do."
    counted = "yes" if consent.counted else "no"
    helped = "yes" if consent.helped else "no"
    return Page(
        title="What you share in this server",
        blocks=(
            (
                f"**Count me** {counted}. Your colonies count in the figures here without your name: rounded, never "
                f"in groups under {FLOOR} members. Figures change only when the plans of {FLOOR} members have changed; "
                "so they may stay for a while after you withdraw."
            ),
            (
                f"**Help me** {helped}. Moderators here may see when water or a rest step of yours is overdue: "
                "your name, the colony, what, and since when. Nothing else."
            ),
            (
                f"**Threads** {threads}. While your direct messages are closed to me, I may say once a day in a "
                "private thread here how many things are due: never what, where, or of which colony. Only you are let "
                f"in; moderators who manage threads can look into it.{here}"
            ),
            "`/season share` changes each of these at any time. It holds for this server only.",
        ),
    )


def _health(health: HallHealth) -> list[str]:
    return [f"**In the way** {sentence}" for sentence in health.sentences]


def stage_heading(notice: Notice) -> str:
    """A notice in one line, for a picker."""
    return f"{capital(notice.stage.value)} · {HALF[notice.half]} {notice.year}"


def seen_line(sight: Sight, before: RestView, after: RestView) -> str:
    """What was written down for a member, and what it moved in their plan."""
    name = shown(after.colony.colony.name)
    what = "was seen awake" if sight is Sight.AWAKE else "still has eggs or pupae"
    now, later = _next_phase(before), _next_phase(after)
    if now == later:
        moved = "No date moves by it."
    elif after.plan.phase_on(after.today) is Phase.RESUME:
        moved = "Its new season begins today: water and sugar now, protein some days later."
    elif later is not None:
        moved = f"Next comes the {later[0].value}, now on {day_name(later[1])}."
    else:
        moved = "Its plan follows."
    return f"Written down: **{name}** {what} today. {moved}"


def _next_phase(view: RestView) -> tuple[Phase, date] | None:
    """The phase that comes next, and its first day."""
    return next(((span.phase, span.start) for span in view.plan.phases if span.start > view.today), None)
