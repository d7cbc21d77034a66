"""What presses and commands of the season lead to: rights are looked at each time, then a use case, then the answer."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from functools import partial
from typing import Any, cast

import discord
import structlog
from discord import ui

from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.door import open_door
from bot.adapters.chat.errors import answer_error
from bot.adapters.chat.gate import NotAModeratorError
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.rest import rest_page
from bot.adapters.chat.presenters.season import seen_line
from bot.adapters.chat.reading import read_day, read_time
from bot.adapters.chat.season_forms import RestForm, TextForm, WhenForm
from bot.adapters.chat.season_items import RestButton, SeenPicker, WalkButton, colony_options
from bot.adapters.chat.season_layout import desk_layout, picture_file
from bot.adapters.chat.season_marks import DeskAct, MemberAct
from bot.adapters.chat.services import ChatServices
from bot.care.localtime import local_day
from bot.care.season.language import wording
from bot.services.errors import DeliveryError
from bot.services.keepers import ReminderChanges
from bot.services.records import ColonyId, Door, KeeperId
from bot.services.rest import RestChanges
from bot.services.season import Season
from bot.services.season_check import Check
from bot.services.season_counting import Counting
from bot.services.season_desk import Desk, NoticeView, Step
from bot.services.season_drafts import Drafts, nonce_of
from bot.services.season_errors import SeasonError
from bot.services.season_hall import SeasonHall
from bot.services.season_members import SeasonMembers, Sight
from bot.services.season_pictures import SeasonPictures
from bot.services.season_records import GuildId, NoticeId

log = structlog.get_logger()
IN_A_SERVER = "Use this inside the server whose season you mean; here I do not know which one."
NO_COLONY = "You have registered no colony yet. `/colony add` does that; then I plan its rest and remind you."
LAST_ONE = "That was the last of your colonies. `/rest show` brings each of them back."
SEEN_TITLE = {Sight.AWAKE: "My queen is awake", Sight.PUPAE: "Eggs or pupae"}
NOT_NOW = {
    Sight.AWAKE: "None of your colonies rests just now, so there is nothing to write down.",
    Sight.PUPAE: "None of your colonies winds down or cools down just now. `/colony seen` writes down what you see.",
}
FINE = "Fine: you are not counted here, and nobody here is told what you have overdue. `/season share` changes that."


class SeasonChat:
    """Fulfils `season_items.SeasonActs`, and carries the use cases for `/season`."""

    def __init__(self, services: ChatServices, hall: SeasonHall) -> None:
        units, zones = services.units, services.zones
        self._services = services
        self.season = Season(units, zones, services.languages)
        self.counting = Counting(units, services.handbook, zones)
        self.pictures = SeasonPictures(zones, self.counting, services.languages, services.season_picture, _surprised)
        self.drafts = Drafts(units, zones, self.counting, services.languages, hall, _surprised)
        self.desk_cases = Desk(units, zones, hall, self.pictures)
        self.checking = Check(units, hall)
        self.hall = hall
        self.members = SeasonMembers(
            units=units,
            colonies=services.colonies,
            rest=services.rest,
            acknowledgement=services.acknowledgement,
            history=services.history,
        )

    async def lead(self, interaction: discord.Interaction) -> GuildId:
        """The community whose season the asker may lead.

        Raises:
            NotAModeratorError: they may not, or no longer.
            SeasonError: outside of any server.
        """
        guild_id = community(interaction)
        roles = [role.id for role in interaction.user.roles] if isinstance(interaction.user, discord.Member) else []
        if not await self.season.may_lead(guild_id, manages=_manages(interaction), roles=roles):
            raise NotAModeratorError
        return guild_id

    async def show_desk(self, contact: Contact, view: NoticeView) -> None:
        """A notice with its state and buttons."""
        words = wording(self._services.languages, view.notice.language)
        picture = await self.pictures.of(view.setup, view.notice, contact.now)
        layout = desk_layout(view, self._services.handbook, words, picture)
        await contact.show(layout, [] if picture is None else [picture_file(picture)])

    async def member(self, interaction: discord.Interaction, act: MemberAct) -> None:
        """A button under a notice: answered in private."""
        work: dict[MemberAct, Callable[[Contact], Awaitable[None]]] = {
            MemberAct.PLAN: self._first_colony,
            MemberAct.REMIND: self._remind,
            MemberAct.AWAKE: partial(self._ask_seen, Sight.AWAKE),
            MemberAct.PUPAE: partial(self._ask_seen, Sight.PUPAE),
            MemberAct.NOT_FOR_ME: self._not_for_me,
        }
        await pressed(interaction, work[act], privately=True)

    async def desk(self, interaction: discord.Interaction, act: DeskAct, notice_id: NoticeId) -> None:
        """A moderator's step."""
        if act in {DeskAct.EDIT, DeskAct.WHEN}:
            await self._open_form(interaction, act, notice_id)
            return

        async def work(contact: Contact) -> None:
            step = await self._step(contact, notice_id)
            await self.show_desk(contact, await self._take(act, step))

        await pressed(interaction, work)

    async def seen(self, interaction: discord.Interaction, sight: Sight, colony_id: ColonyId) -> None:
        """Something was seen in a colony."""

        async def work(contact: Contact) -> None:
            await self._write_seen(contact, sight, colony_id)

        await pressed(interaction, work)

    async def walk(self, interaction: discord.Interaction, number: int) -> None:
        """One of a member's colonies, by its number in their list."""

        async def work(contact: Contact) -> None:
            await self._walk(contact, number)

        await pressed(interaction, work)

    async def rest_form(self, interaction: discord.Interaction, colony_id: ColonyId, number: int) -> None:
        """The form of a rest; it must be the first answer, so nothing is deferred."""

        async def done(contact: Contact, changes: RestChanges) -> None:
            await contact.services.rest.change(contact.keeper_id, colony_id, changes, contact.now)
            await self._walk(contact, number)

        try:
            now = self._services.clock.now()
            view = await self._services.rest.show(KeeperId(interaction.user.id), colony_id, now)
            await interaction.response.send_modal(RestForm(view, done))
        except Exception as error:  # noqa: BLE001 - every error gets its sentence or its number
            await answer_error(interaction, error)

    async def _step(self, contact: Contact, notice_id: NoticeId) -> Step:
        guild_id = await self.lead(contact.interaction)
        return Step(guild_id, notice_id, contact.interaction.user.id, contact.now)

    async def _take(self, act: DeskAct, step: Step) -> NoticeView:
        cases = self.desk_cases
        steps: dict[DeskAct, Callable[[], Awaitable[NoticeView]]] = {
            DeskAct.APPROVE: lambda: cases.approve(step),
            DeskAct.NOW: lambda: cases.post_now(step),
            DeskAct.DAY: lambda: cases.postpone(step, 1),
            DeskAct.WEEK: lambda: cases.postpone(step, 7),
            DeskAct.CANCEL: lambda: cases.cancel(step),
            DeskAct.RETRACT: lambda: cases.retract(step),
            DeskAct.DROP: lambda: cases.drop(step),
        }
        if act in steps:
            await steps[act]()
        return await cases.look(step)

    async def _open_form(self, interaction: discord.Interaction, act: DeskAct, notice_id: NoticeId) -> None:
        """A form must be the first answer, so nothing is deferred; rights are looked at again when it comes back."""

        async def edited(contact: Contact, text: str) -> None:
            step = await self._step(contact, notice_id)
            kept = await self.desk_cases.edit(step, text)
            await self._call_second(kept)
            await self.show_desk(contact, await self.desk_cases.look(step))

        async def moved(contact: Contact, day: str, hour: str) -> None:
            step = await self._step(contact, notice_id)
            zone = self._services.zones.get((await self.season.setup(step.guild_id)).zone_name)
            when = read_day(day, local_day(contact.now, zone)), read_time(hour)
            await self.desk_cases.schedule(step, *when)
            await self.show_desk(contact, await self.desk_cases.look(step))

        try:
            guild_id = await self.lead(interaction)
            step = Step(guild_id, notice_id, interaction.user.id, self._services.clock.now())
            view = await self.desk_cases.look(step)
            words = view.notice.amendment or view.notice.text
            form = TextForm(words, edited) if act is DeskAct.EDIT else WhenForm(view, moved)
            await interaction.response.send_modal(form)
        except Exception as error:  # noqa: BLE001 - every error gets its sentence or its number
            await answer_error(interaction, error)

    async def _first_colony(self, contact: Contact) -> None:
        await self._walk(contact, 0)

    async def _walk(self, contact: Contact, number: int) -> None:
        found = await self.members.walk(contact.keeper_id, number, contact.now)
        if found is None:
            await contact.show_all(
                page_layouts(Page(title="Plan my colonies", blocks=(LAST_ONE if number else NO_COLONY,)))
            )
            return
        view, count = found
        page = rest_page(view)
        if count > 1:
            page = replace(page, blocks=(f"-# Colony {number + 1} of {count}", *page.blocks))
        items: list[ui.Item[Any]] = [RestButton(view.colony.id, number)]
        items += [WalkButton(number + 1)] if number + 1 < count else []
        await contact.show_all(page_layouts(page, ui.ActionRow(*items)))

    async def _remind(self, contact: Contact) -> None:
        keeper = await contact.services.keepers.set_reminders(contact.keeper_id, ReminderChanges(on=True), contact.now)
        if keeper.door is not Door.OPEN:
            keeper = await open_door(contact, keeper)
        said = (
            f"I remind you by direct message, at {keeper.settings.digest_at:%H:%M} your time, of each step of each of "
            "your colonies. `/my reminders` changes the hour."
        )
        mine = await contact.services.colonies.of(contact.keeper_id)
        await contact.show_all(page_layouts(Page(title="I remind you", blocks=(said, *([] if mine else [NO_COLONY])))))

    async def _ask_seen(self, sight: Sight, contact: Contact) -> None:
        found = await self.members.candidates(contact.keeper_id, sight, contact.now)
        if not found:
            await contact.show_all(page_layouts(Page(title=SEEN_TITLE[sight], blocks=(NOT_NOW[sight],))))
        elif len(found) == 1:
            await self._write_seen(contact, sight, found[0].id)
        else:
            row = ui.ActionRow[Any](SeenPicker(sight, colony_options(found)))
            await contact.show_all(page_layouts(Page(title=SEEN_TITLE[sight]), row))

    async def _write_seen(self, contact: Contact, sight: Sight, colony_id: ColonyId) -> None:
        before, after = await self.members.saw(contact.keeper_id, colony_id, sight, contact.now)
        page = rest_page(after)
        await contact.show_all(page_layouts(replace(page, blocks=(seen_line(sight, before, after), *page.blocks))))

    async def _call_second(self, view: NoticeView) -> None:
        """Show new words of a posted notice to the other moderators; the desk shows them anyway."""
        notice = view.notice
        if notice.amendment is not None:
            try:
                await self.hall.tell_waiting(view.setup, notice, nonce_of("amend", notice.id, notice.amendment))
            except DeliveryError as closed:
                _surprised(notice.guild_id, closed)

    async def _not_for_me(self, contact: Contact) -> None:
        guild_id = community(contact.interaction)
        if await contact.services.keepers.find(contact.keeper_id) is not None:
            await self.season.agree(guild_id, contact.keeper_id, counted=False, helped=False, now=contact.now)
        await contact.show_all(page_layouts(Page(title="Not for me", blocks=(FINE,))))


def season_chat(interaction: discord.Interaction) -> SeasonChat:
    """The season, as the client carries it."""
    return cast("SeasonChat", cast("Any", interaction.client).season_acts)


def community(interaction: discord.Interaction) -> GuildId:
    """The server in which something was asked.

    Raises:
        SeasonError: outside of any.
    """
    if interaction.guild_id is None:
        raise SeasonError(IN_A_SERVER)
    return GuildId(interaction.guild_id)


def _manages(interaction: discord.Interaction) -> bool:
    """Whether the asker manages the server, by what the platform says of this very interaction."""
    return interaction.permissions.manage_guild or interaction.permissions.administrator


def _surprised(guild_id: GuildId, surprise: Exception) -> None:
    log.error("season_surprise", guild=int(guild_id), error=type(surprise).__name__)
