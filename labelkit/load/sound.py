"""What of a profile with faults is sound, so that one fault does not hide those between other fields.

What is faulty is left out, or stands as a part that nothing is known of. The result serves further checks only: it is
never printed from.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from typing import Any, Final

from labelkit.load.validate import fault_paths
from labelkit.load.yamltree import FieldPath, Key, Tree
from labelkit.model.profile import Profile

# A fault may show only when another is gone; a file that needs more than this holds nothing to go on with.
_ROUNDS: Final = 8
_STUB: Final = {"mark": "XX", "name": "?", "up": "?"}
_NO_RULE: Final = {"first": "unread-a", "then": "unread-b"}


def sound_profile(tree: Tree, context: dict[str, str]) -> Profile | None:
    """Return the profile that is left when everything with a fault is taken out; None when nothing is left.

    Args:
        tree: the file; it stays as it is.
        context: default units.
    """
    data = deepcopy(tree.data)
    for _ in range(_ROUNDS):
        profile, paths = fault_paths(data, Profile, context)
        if profile is not None:
            return profile
        if not data.get("parts") or not isinstance(data["parts"], list):
            return None
        # A list whose entries have faults is called too short besides; only the entries are wrong.
        for path in sorted({path for path in paths if path not in ((), ("parts",))}, key=len):
            _take_out(data, path)
    return None


def _take_out(data: dict[str, Any], path: FieldPath) -> None:
    """Take what is faulty out of the file, without moving anything else in a list."""
    table, *rest = path
    if table == "parts":
        _take_out_of_parts(data, path)
    elif table == "format":
        data["format"] = "1"
    elif table == "unit":
        data["unit"] = dict(_STUB)
    elif table == "assembly" and rest and isinstance(data.get("assembly"), list):
        data["assembly"][rest[0]] = dict(_NO_RULE)
    elif rest and isinstance(data.get(str(table)), dict):
        data[str(table)].pop(rest[0], None)
    else:
        data.pop(str(table), None)


def _take_out_of_parts(data: dict[str, Any], path: FieldPath) -> None:
    holder: Any = data
    place: list[Key] = []
    while path[:1] == ("parts",) and len(path) > 1:
        if "parts" not in holder:
            return  # it went with the part it is in
        beside, index = holder["parts"], path[1]
        if not isinstance(beside, list) or not isinstance(index, int):
            break
        holder, path = beside[index], path[2:]
        place.append(index)
        if not isinstance(holder, dict):
            beside[index] = _unread(place, ())
            return
    if path[:1] in ((), ("id",), ("only",)):
        # Nobody knows when a part is there whose `only` cannot be read; nor what is inside it.
        inside = () if path[:1] == ("only",) else holder.get("parts", ())
        holder.clear()
        holder.update(_unread(place, inside))
    elif path[0] == "name":
        holder["name"] = "?"
    elif path[0] == "qty":
        holder["qty"] = "set"
    else:
        holder.pop(str(path[0]), None)


def _unread(place: Iterable[Key], inside: Any) -> dict[str, Any]:
    """Return a part of which nothing is known but what is inside it."""
    name = "-".join(map(str, place))
    return {"id": f"unread-{name}", "name": "?", **({"parts": inside} if inside else {})}
