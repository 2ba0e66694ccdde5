"""What a store keeps of a job in its row, and the job that a row is."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from labelkit.model.job import DEFAULT_STOCKS, Job, Stocks
from labelkit.model.laying import DEFAULT_LAYING, Laying


def profile_row(source: bytes, file: str) -> dict[str, object]:
    """Return the columns of a profile: the bytes of its file, and how that is named."""
    return {"file": file, "source": source, "sha256": hashlib.sha256(source).hexdigest()}


def snapshot_row(
    source: bytes, *, file: str, version: int, indices: Sequence[int], changed: Sequence[str] = ()
) -> dict[str, object]:
    """Return the columns of a job that another snapshot of its profile changes.

    Args:
        source: bytes of the profile.
        file: how its file is named.
        version: of the capture that it is made of; 0: of none.
        indices: number of the codes of each place; empty: as they stand.
        changed: ids of the parts that later revisions changed.
    """
    captured = {"version": version, "indices": list(indices), "changed": list(changed)}
    return {**profile_row(source, file), "captured": json.dumps(captured)}


def changing_row(
    *,
    serial: str | None,
    options: Mapping[str, str | None],
    numbering: Mapping[str, str | None],
    address: str,
    laying: Laying,
    stocks: Stocks,
    language: str | None,
) -> dict[str, object]:
    """Return the columns that may change while a unit is in pieces; arguments as the attributes of `Job`."""
    return {
        "serial": serial,
        "options": options_text(options),
        "numbering": options_text(numbering),
        "address": address,
        "laying": json.dumps(laying.plain(), sort_keys=True),
        "stocks": json.dumps(asdict(stocks), sort_keys=True),
        "language": language,
    }


def options_text(options: Mapping[str, str | None]) -> str:
    """Return options as they are kept: the same text for the same choices."""
    return json.dumps(dict(options), sort_keys=True)


def _options(text: str) -> dict[str, str | None]:
    return dict(json.loads(text).items())


def job_of(row: Any) -> Job:
    """Return the job of a row.

    Raises:
        AttributeError, KeyError, TypeError, ValueError: the row is damaged.
    """
    return Job(
        number=row["number"],
        serial=row["serial"],
        file=row["file"],
        source=bytes(row["source"]),
        options=_options(row["options"]),
        address=row["address"],
        block=row["block"],
        blocks=row["blocks"],
        # A job of an earlier store lacks some of these.
        numbering=_options(row["numbering"] or row["options"]),
        laying=Laying.of_plain(json.loads(row["laying"])) if row["laying"] else DEFAULT_LAYING,
        stocks=Stocks.of_plain(json.loads(row["stocks"])) if row["stocks"] else DEFAULT_STOCKS,
        language=row["language"],
        **_captured(row["captured"]),
    )


def _captured(text: str | None) -> dict[str, Any]:
    """Return what a job says of its capture and later revisions; nothing where its profile is the first, of a file."""
    data: dict[str, Any] = json.loads(text) if text else {"version": 0, "indices": []}
    # A job of an earlier store does not say what was changed.
    changed = tuple(map(str, data.get("changed", ())))
    return {"version": int(data["version"]), "indices": tuple(map(int, data["indices"])), "changed": changed}
