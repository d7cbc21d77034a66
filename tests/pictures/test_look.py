"""The two looks against published measures: contrast of letters and lines, and distances under colour blindness.

Contrast: WCAG 2.1, success criteria 1.4.3 (text, 4.5 to 1; 3 to 1 for large text) and 1.4.11 (graphics, 3 to 1), with
its formula of relative luminance. Simulation: Machado, Oliveira & Fernandes 2009, matrices of severity 1.0, from
memory; colour difference: CIE76 in CIELAB (D65), where about 2.3 is just noticeable.
"""

from __future__ import annotations

from itertools import combinations
from math import sqrt

import pytest

from bot.adapters.pictures.look import LOOKS, SMALL, WIDTH, Colours, printable, short_day
from bot.care.phase import Phase
from bot.services.pictures import Look

Triple = tuple[float, float, float]
SIMULATED: dict[str, tuple[Triple, Triple, Triple]] = {
    "protanopia": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deuteranopia": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritanopia": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
PLAIN = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
looks = pytest.mark.parametrize("colours", list(LOOKS.values()), ids=list(LOOKS))


def linear(colour: str) -> Triple:
    red, green, blue = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    return _light(red), _light(green), _light(blue)


def _light(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    bright, dark = sorted((_luminance(linear(one)), _luminance(linear(other))), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def _luminance(colour: Triple) -> float:
    return 0.2126 * colour[0] + 0.7152 * colour[1] + 0.0722 * colour[2]


def seen(colour: str, matrix: tuple[Triple, Triple, Triple]) -> Triple:
    """A colour in CIELAB as somebody with this sight sees it."""
    red, green, blue = (
        min(1.0, max(0.0, sum(weight * part for weight, part in zip(row, linear(colour), strict=True))))
        for row in matrix
    )
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.95047
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.08883
    fx, fy, fz = (value ** (1 / 3) if value > 0.008856 else 7.787 * value + 16 / 116 for value in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def distance(one: str, other: str, matrix: tuple[Triple, Triple, Triple]) -> float:
    first, second = seen(one, matrix), seen(other, matrix)
    return sqrt(sum((a - b) ** 2 for a, b in zip(first, second, strict=True)))


def test_the_measure_of_contrast_is_the_published_one() -> None:
    # WCAG: black on white is 21 to 1; the grey #767676 on white is 4.54 to 1 (its well known limit).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@looks
def test_letters_can_be_read_on_everything_they_stand_on(colours: Colours) -> None:
    for ground in (colours.paper, *colours.phases.values()):
        assert contrast(colours.ink, ground) >= 4.5


@looks
def test_lines_and_marks_stand_out(colours: Colours) -> None:
    for line in (colours.sugar, colours.protein, colours.plant, colours.water, colours.warm):
        assert contrast(line, colours.paper) >= 3


@looks
@pytest.mark.parametrize("sight", ["usual", *SIMULATED])
def test_things_drawn_together_are_told_apart_by_any_eye(colours: Colours, sight: str) -> None:
    matrix = SIMULATED.get(sight, PLAIN)
    together = (
        (colours.sugar, colours.protein, colours.water),
        (colours.warm, colours.water),
        (colours.wanted, colours.ink),
        (colours.phases[Phase.ACTIVE], colours.phases[Phase.COOL_DOWN], colours.phases[Phase.REST]),
    )
    for group in together:
        for one, other in combinations(group, 2):
            assert distance(one, other, matrix) >= 10, (one, other)


def test_letters_are_large_enough_for_a_phone() -> None:
    # Derived: 18 points at 100 dots an inch are 25 pixels; 1000 pixels shown 360 points wide leave 9 points.
    assert SMALL / 72 * 100 * 360 / WIDTH >= 9


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Dusk", "Dusk"),
        ("$2 & $3", "$2 & $3"),
        ("Ärger Ørsted Łódź", "Ärger Ørsted Łódź"),
        ("蟻の巣 two", "two"),
        ("蟻", "your colony"),
        ("a\nb", "ab"),
    ],
)
def test_letters_that_the_font_lacks_are_left_out(text: str, shown: str) -> None:
    assert printable(text) == shown


def test_every_look_is_drawn() -> None:
    assert set(LOOKS) == set(Look)


def test_days_are_said_the_same_everywhere() -> None:
    from datetime import date  # noqa: PLC0415 - one use

    assert short_day(date(2027, 1, 3)) == "3 Jan"
