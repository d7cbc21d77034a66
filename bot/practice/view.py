"""Messages and forms of the platform as what the page draws. Numbers are the platform's component types."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from bot.practice.shapes import BOT_NAME, Post
from bot.practice.text import Reading, blocks

Part = Mapping[str, Any]
Drawn = dict[str, Any]
ROW, BUTTON, PICKER, FIELD = 1, 2, 3, 4
PEOPLE, ROLES, ANYBODY, ROOMS = 5, 6, 7, 8
SECTION, TEXT, THUMBNAIL, GALLERY, FILE, RULE, FRAME = 9, 10, 11, 12, 13, 14, 17
LABEL, CHOICE, CHOICES, CHECK = 18, 21, 22, 23
TONES = {1: "main", 2: "plain", 3: "good", 4: "danger", 5: "link"}
LONG_FIELD = 2


def message(post: Post, reading: Reading) -> Drawn:
    """One message."""
    local = post.at.astimezone(reading.zone)
    return {
        "id": str(post.id),
        "author": post.author,
        "bot": post.by_bot,
        "time": f"{local:%a} {local.day} {local:%b}, {local:%H:%M}",
        "private": post.private,
        "asked": post.asked,
        "blocks": blocks(post.text, reading),
        "parts": [drawn for part in post.parts for drawn in _part(part, reading)],
    }


def _part(part: Part, reading: Reading) -> Iterator[Drawn]:
    kind = part["type"]
    inside = [drawn for child in part.get("components", ()) for drawn in _part(child, reading)]
    if kind == TEXT:
        yield {"kind": "text", "blocks": blocks(part["content"], reading)}
    elif kind == FRAME:
        colour = part.get("accent_color")
        yield {"kind": "frame", "colour": None if colour is None else f"#{colour:06x}", "parts": inside}
    elif kind == ROW:
        yield {"kind": "row", "parts": inside}
    elif kind == SECTION:
        yield {"kind": "section", "parts": inside, "beside": [*_part(part["accessory"], reading)]}
    elif kind == BUTTON:
        yield _button(part)
    elif kind in {PICKER, PEOPLE, ROLES, ANYBODY, ROOMS}:
        yield {"kind": "picker", **picker(part, reading)}
    elif kind == RULE:
        yield {"kind": "rule"}
    elif kind == FILE:
        address = part["file"]["url"]
        yield {"kind": "file", "address": address, "name": address.partition("?")[0].rpartition("/")[2]}
    elif kind in {GALLERY, THUMBNAIL}:
        yield {"kind": "pictures", "pictures": list(_pictures(part))}


def _button(part: Part) -> Drawn:
    emoji = (part.get("emoji") or {}).get("name") or ""
    return {
        "kind": "button",
        "id": part.get("custom_id"),
        "label": " ".join(filter(None, (emoji, part.get("label")))) or "?",
        "tone": TONES.get(part.get("style", 2), "plain"),
        "off": bool(part.get("disabled")),
        "address": part.get("url"),
    }


def picker(part: Part, reading: Reading) -> Drawn:
    """A picker of a message or a form; one for people or rooms offers the names of the community."""
    return {
        "id": part["custom_id"],
        "prompt": part.get("placeholder") or "Choose",
        "least": part.get("min_values", 1),
        "most": part.get("max_values", 1),
        "off": bool(part.get("disabled")),
        "options": [
            {
                "value": option["value"],
                "label": option["label"],
                "hint": option.get("description") or "",
                "chosen": bool(option.get("default")),
            }
            for option in _options(part, reading)
        ],
    }


def _options(part: Part, reading: Reading) -> Sequence[Part]:
    if "options" in part:
        return [*part["options"]]
    marks = {PEOPLE: "@", ROOMS: "#", ANYBODY: "@"}.get(part["type"])
    names = [name for name in reading.names.values() if marks and name.startswith(marks) and name != f"@{BOT_NAME}"]
    return [{"value": name, "label": name} for name in names]


def _pictures(part: Part) -> Iterator[Drawn]:
    single = part.get("media")
    for item in part.get("items") or ([{**part, "media": single}] if single else []):
        yield {"address": item["media"]["url"], "words": item.get("description") or "Picture made by the bot"}


def form(shown: Part, number: str, reading: Reading) -> Drawn:
    """A form with its fields; `number` is how it is handed in again."""
    fields = [field for part in shown.get("components", ()) for field in _fields(part, reading)]
    return {"number": number, "title": shown.get("title") or "Form", "fields": fields}


def _fields(part: Part, reading: Reading) -> Iterator[Drawn]:
    if part["type"] == TEXT:
        yield {"kind": "text", "blocks": blocks(part["content"], reading)}
    elif part["type"] == ROW:
        for child in part.get("components", ()):
            yield {**_field(child, reading), "label": child.get("label") or "", "hint": ""}
    elif part["type"] == LABEL:
        words = {"label": part.get("label") or "", "hint": part.get("description") or ""}
        yield {**_field(part["component"], reading), **words}


def _field(part: Part, reading: Reading) -> Drawn:
    kind = part["type"]
    drawn: Drawn = {"id": part["custom_id"], "required": bool(part.get("required", kind not in {CHOICES, CHECK}))}
    if kind == FIELD:
        text = {"value": part.get("value") or "", "example": part.get("placeholder") or ""}
        return {**drawn, **text, "kind": "long" if part.get("style") == LONG_FIELD else "short"}
    if kind == CHECK:
        return {**drawn, "kind": "check", "value": bool(part.get("default"))}
    most = 1 if kind == CHOICE else part.get("max_values") or (len(part.get("options", ())) if kind == CHOICES else 1)
    chosen = picker({**part, "min_values": 0, "max_values": most}, reading)
    return {**drawn, **chosen, "kind": "choice" if kind == CHOICE else "picker"}
