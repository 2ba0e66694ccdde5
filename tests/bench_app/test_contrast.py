"""Contrast of the style sheet of cards, light and dark, without a browser: every pair of colours it makes.

What the bench adds is judged on its pages, as painted (test_every_page_browser.py).

Levels: WCAG 2.2, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (graphics and borders 3:1). Large text is held to 4.5:1
as well: greasy screens and sunlight take their share.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product

import pytest

from labelkit.sheets.cardpages import css

TEXT, GRAPHICS = 4.5, 3.0
SCHEMES = ("light", "dark")


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb. Source: WCAG 2.2, definition of relative luminance."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio, 1 to 21, not rounded. Source: WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("colour", "ratio", "level", "passes"),
    [
        # Published knife-edge greys on white; the ratios by the WCAG 2.2 formula, checked with wcag-contrast-ratio 0.9
        ("#000000", 21.0, 7, True),
        ("#767676", 4.54222, 4.5, True),
        ("#777777", 4.47809, 4.5, False),
        ("#595959", 7.00473, 7, True),
        ("#5a5a5a", 6.89693, 7, False),
    ],
)
def test_the_judge_knows_the_knife_edges(colour: str, ratio: float, level: float, passes: bool) -> None:
    """The greys that just pass and just fail, compared unrounded."""
    assert ratio == pytest.approx(contrast(colour, "#ffffff"), abs=5e-6)
    assert ratio == pytest.approx(contrast("#ffffff", colour), abs=5e-6)
    assert passes is (contrast(colour, "#ffffff") >= level)


# --- a reader of the style sheet: selectors of names, classes and descendants, no more than it uses

Compound = frozenset[str]
Selector = tuple[Compound, ...]
Rule = tuple[Selector, dict[str, str]]


def parsed(sheet: str, scheme: str) -> list[Rule]:
    """Return the rules of a scheme in order, variables resolved, colours as #rrggbb."""
    variables: dict[str, str] = {}
    sheet = re.sub(r"/\*.*?\*/", "", sheet, flags=re.S)
    dark = re.search(r"@media \(prefers-color-scheme: dark\) \{(.*?\})\s*\}", sheet, re.S)
    assert dark is not None
    blocks = [sheet.replace(dark.group(0), ""), *([dark.group(1)] if scheme == "dark" else [])]
    found = []
    for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", "".join(blocks)):
        pairs = [line.split(":", 1) for line in body.split(";") if ":" in line]
        values = {name.strip(): value.strip() for name, value in pairs}
        variables |= {name: value for name, value in values.items() if name.startswith("--")}
        found += [(selector_of(text), values) for text in selectors.split(",")]
    resolved = [
        (selector, {name: seen(value, variables) for name, value in values.items()}) for selector, values in found
    ]
    return [rule for rule in resolved if rule[0] != selector_of(":root")]


def selector_of(text: str) -> Selector:
    return tuple(frozenset(re.findall(r"[.:*]*[\w-]+|\*", part)) for part in text.split() if part != ">")


def seen(value: str, variables: dict[str, str]) -> str:
    value = re.sub(r"var\((--[\w-]+)\)", lambda match: variables[match.group(1)], value)
    return re.sub(r"#([0-9a-f])([0-9a-f])([0-9a-f])\b", r"#\1\1\2\2\3\3", value, flags=re.I)


def matches(rule: Selector, element: Selector) -> bool:
    """Say whether an element with these ancestors is meant by a rule."""
    if not rule[-1] <= element[-1]:
        return False
    ancestors = iter(element[:-1])
    return all(any(compound <= ancestor for ancestor in ancestors) for compound in rule[:-1])


def elements(rules: list[Rule]) -> set[Selector]:
    """Return what the rules are about; of `.hazard strong` only the kinds that have a background of their own."""
    coloured = [selector for selector, values in rules if "background" in values]

    def kinds(element: Selector) -> list[Selector]:
        same = [one for one in coloured if len(one) == len(element) and one != element]
        return [one for one in same if all(general <= special for general, special in zip(element, one, strict=True))]

    found: set[Selector] = set()
    for selector, _ in rules:
        parts = [selector[:end] for end in range(1, len(selector) + 1)]
        choices = {tuple(one) for part in parts for one in kinds(part)}
        if choices:
            found |= {one + selector[len(one) :] for one in choices}
        else:
            found.add(selector)
    return found


def value_of(rules: list[Rule], element: Selector, name: str) -> str | None:
    """Return a property of an element by the most specific, then the last rule that sets it."""
    hits = [
        (sum(map(len, rule)), number)
        for number, (rule, values) in enumerate(rules)
        if name in values and matches(rule, element)
    ]
    return rules[max(hits)[1]][1][name] if hits else None


def shown(rules: list[Rule], element: Selector, name: str) -> str:
    """Return colour or background as it is seen: an element without one shows that of what it stands in."""
    for end in range(len(element), 0, -1):
        if value := value_of(rules, element[:end], name):
            return value
    return value_of(rules, selector_of("body"), name) or ""


def name_of(element: Selector) -> str:
    return " ".join("".join(sorted(compound, key=lambda part: (part[0] in ".:", part))) for compound in element)


def pairs(rules: list[Rule]) -> Iterator[tuple[str, str, str, float]]:
    """Yield element, colour, background and the level that is asked of the two."""
    for element in sorted(elements(rules), key=name_of):
        name = name_of(element)
        ink, ground = shown(rules, element, "color"), shown(rules, element, "background")
        yield name, ink, ground, TEXT
        outside = shown(rules, element[:-1] or selector_of("body"), "background")
        for line in ("border", "border-bottom", "border-top", "outline"):
            if value := value_of(rules, element, line):
                colour = value.split()[-1]
                # A line parts two surfaces; it is seen when it stands out from one of them.
                edge = ink if colour == "currentColor" else colour
                best = max((ground, outside), key=lambda surface, edge=edge: contrast(edge, surface))
                yield f"{name} {line}", edge, best, GRAPHICS


def faults(sheet: str, scheme: str) -> list[str]:
    return [
        f"{scheme}: {name}: {ink} on {ground} is {contrast(ink, ground):.2f}, less than {level}"
        for name, ink, ground, level in pairs(parsed(sheet, scheme))
        if contrast(ink, ground) < level
    ]


@pytest.mark.parametrize("scheme", SCHEMES)
def test_every_pair_of_colours_can_be_read(scheme: str) -> None:
    """All text and all lines of cards, on the background they stand on."""
    found = {name for name, *_ in pairs(parsed(css(), scheme))}

    assert {
        "a",
        "body",
        ".top .meta",
        ".loud li",
        "nav.index a",
        ".hazard p",
        ":focus-visible outline",
    } <= found
    assert {
        name_of(selector_of(f".hazard.{signal} strong small")) for signal in ("danger", "warning", "caution", "notice")
    } <= found
    assert [] == faults(css(), scheme)


@pytest.mark.parametrize(
    ("old", "new", "scheme", "element"),
    [
        ("color: #ddd", "color: #555", "light", ".top .meta"),
        ("--link: #9cc7ff", "--link: #0b4a8f", "dark", "a"),
        ("--line: #6b6b66", "--line: #ddddd8", "light", "details border"),
        ("background: #ff8a1f", "background: #7a3a00", "light", ".hazard.warning strong"),
        ("background: #b00020; color: #fff", "background: #ff5a5a; color: #fff", "dark", ".hazard.danger strong"),
    ],
)
def test_a_pale_colour_would_be_found(old: str, new: str, scheme: str, element: str) -> None:
    """The judge is awake: one colour changed, and the place that suffers is named."""
    assert old in css()

    assert any(f": {name_of(selector_of(element))}: " in fault for fault in faults(css().replace(old, new), scheme))


@pytest.mark.parametrize(
    ("signal", "ink"), [("danger", "#ffffff"), ("warning", "#000000"), ("caution", "#000000"), ("notice", "#ffffff")]
)
def test_signal_words_have_the_letters_of_their_colour(signal: str, ink: str) -> None:
    """White on red and blue, black on orange and yellow, in light and dark; the other ink would be read worse.

    Source: ANSI Z535.4, panels of the signal words; letter colours from memory.
    """
    for scheme, element in product(SCHEMES, [selector_of(f".hazard.{signal} strong")]):
        rules = parsed(css(), scheme)
        ground = shown(rules, element, "background")
        other = {"#ffffff": "#000000", "#000000": "#ffffff"}[ink]

        assert ink == shown(rules, element, "color")
        assert contrast(ink, ground) > max(TEXT, contrast(other, ground))
