"""Events: what people did at the bench, never changed once written; a mistake is corrected by another event.

An `Entry` is an act (`model.acts`) with its place, who did it and when, ready to be written; an `Event` is an entry as
the record keeps it, with its number in the job.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any, Final

from pydantic import ValidationError

from labelkit.errors import InputError, allowed_text
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.act import LAST_PLACE, Act
from labelkit.model.act import LONGEST_NAME as LONGEST_NAME
from labelkit.model.acts import KINDS
from labelkit.model.readings import Reading

# What is wrong with a field, by the type of pydantic's error; a form shows it at the field.
_WHOLE: Final = noop("allowed: a whole number")
_FIGURE: Final = noop("allowed: a figure, as 1.10")
_TOLD: Final[Mapping[str, str]] = {
    "missing": noop("is left out; fill it in"),
    "greater_than_equal": noop("allowed: {ge} or more"),
    "greater_than": noop("allowed: more than {gt}"),
    "less_than_equal": noop("allowed: at most {le}"),
    **dict.fromkeys(("int_parsing", "int_type", "int_from_float", "int_parsing_size"), _WHOLE),
    **dict.fromkeys(("decimal_parsing", "decimal_type", "finite_number"), _FIGURE),
    "decimal_max_digits": noop("allowed: at most {max_digits} digits"),
    "string_too_short": noop("is empty; write some words"),
    "string_too_long": noop("is too long; allowed: at most {max_length} letters"),
    "literal_error": noop("allowed: {expected}"),
    "too_short": noop("nothing is given; at least {min_length} is needed"),
    "too_long": noop("too many are given; allowed: at most {max_length}"),
}
_TOKEN: Final = re.compile(r"[A-Za-z0-9_.-]{8,64}")


class ActFaults(InputError):
    """Report what is wrong with an act.

    Attributes:
        faults: a sentence by the name of its field; `` for the whole act.
    """

    def __init__(self, kind: str, faults: Mapping[str, str]) -> None:
        self.faults = dict(faults)
        super().__init__("; ".join(f"{kind}{f', {name}' if name else ''}: {text}" for name, text in faults.items()))


def act_of(data: Mapping[str, Any]) -> Act:
    """Return an act from plain data: its `kind` and the fields of that kind.

    Raises:
        ActFaults: no such kind, or fields that it does not allow; each with its name.
    """
    kind = data.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise ActFaults("act", {"kind": f"found {kind!r}; {allowed_text(str(kind), KINDS, most=40)}"})
    try:
        return KINDS[kind].model_validate(dict(data))
    except ValidationError as error:
        raise ActFaults(kind, _faults(error, KINDS[kind])) from error


def _faults(error: ValidationError, kind: type[Act]) -> dict[str, str]:
    fields = [name for name in kind.model_fields if name != "kind"]
    found: dict[str, str] = {}
    for each in error.errors(include_url=False):
        name = ".".join(map(str, each["loc"]))
        message, told = each["msg"], _TOLD.get(each["type"])
        if each["type"] == "missing" and (left_out := kind.model_fields.get(name)) and left_out.annotation is str:
            told = _TOLD["string_too_short"]
        if told is not None:
            message = _(told).format(**each.get("ctx", {}))
        if each["type"] == "extra_forbidden":
            message = f"there is no such field; {allowed_text(name, fields)}"
        elif isinstance(each["input"], str | int | float | Decimal) and each["type"] != "string_too_short":
            message = _('found "{found}"; {told}').format(found=str(each["input"])[:40], told=message)
        found.setdefault(name, message)
    return found


def act_data(act: Act) -> dict[str, Any]:
    """Return an act as plain data for JSON, without what was left out; figures as text, which keeps their zeros."""
    return {"kind": act.kind, **act.model_dump(mode="json", exclude_defaults=True)}


def act_text(act: Act) -> str:
    """Return an act as JSON, the same for the same act."""
    return act.model_dump_json(exclude_defaults=True)


def act_of_text(kind: str, text: str | bytes) -> Act:
    """Return what `act_text` wrote; ValidationError, a ValueError, where it did not."""
    return KINDS[kind].model_validate_json(text)


@dataclass(frozen=True, slots=True)
class Entry:
    """An act ready to be written.

    Attributes:
        act: what was done.
        who: did it.
        when: with its time zone; kept in UTC.
        token: the client's own id of this entry: the same entry sent again is told, not written twice.
        place: what it was done with, by its ordinal; None: the job.
        seen: number of the last event of the job that the person had before them; None: nobody asks what came since.

    Raises:
        ActFaults: no name, no time zone, no such token, or an act that needs a place or has none.
    """

    act: Act
    who: str
    when: datetime
    token: str
    place: int | None = None
    seen: int | None = None

    def __post_init__(self) -> None:
        faults = {}
        if not self.who.strip() or len(self.who) > LONGEST_NAME or not self.who.isprintable():
            faults["who"] = f'found "{self.who[:40]}"; allowed: a name of 1 to {LONGEST_NAME} letters'
        if self.when.tzinfo is None:
            faults["when"] = f"found {self.when.isoformat()}; a time without its zone is not kept"
        if not _TOKEN.fullmatch(self.token):
            faults["token"] = f'found "{self.token[:40]}"; allowed: 8 to 64 of A-Z, a-z, 0-9, _ . and -'
        wanted = type(self.act).about
        if (wanted == "place" and self.place is None) or (wanted == "job" and self.place is not None):
            faults["place"] = f"{self.act.kind} is about {'a place' if wanted == 'place' else 'the job'}"
        elif isinstance(self.act, Reading) and (self.act.check is None) == (self.place is not None):
            faults["place"] = "a reading of a check is about a place, one of a fit about the job"
        if self.place is not None and not 0 <= self.place <= LAST_PLACE:
            faults["place"] = f"found {str(self.place)[:12]}; places are counted from 0 to {LAST_PLACE}"
        if faults:
            raise ActFaults(self.act.kind, faults)
        object.__setattr__(self, "who", self.who.strip())
        object.__setattr__(self, "when", self.when.astimezone(UTC))


@dataclass(frozen=True, slots=True)
class Event:
    """What the record keeps: an entry with its number in the job, from 1, without gaps."""

    job: int
    number: int
    act: Act
    who: str
    when: datetime
    token: str
    place: int | None = None

    def data(self) -> dict[str, Any]:
        """Return it as plain data for JSON; the job is not part of it."""
        return {
            "number": self.number,
            "place": self.place,
            "who": self.who,
            "when": self.when.isoformat(),
            "token": self.token,
            "act": act_data(self.act),
        }
