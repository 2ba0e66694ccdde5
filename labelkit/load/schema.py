"""JSON Schemas of the YAML files, for editors: made from the same models that the loader uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from labelkit.model.profile import Profile
from labelkit.model.scalars import Model
from labelkit.model.stock import StockFile

_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


# What YAML 1.1, which many editors still read, makes of a field's name written without quotes.
_READ_AS: Final[dict[str, bool]] = {"on": True, "off": False, "yes": True, "no": False}


def _schema(model: type[Model], title: str) -> dict[str, Any]:
    schema = model.model_json_schema(by_alias=True)
    _adapt(schema)
    return {"$schema": _DIALECT, **schema, "title": title}


def _adapt(node: Any) -> None:
    """Allow for what YAML editors see and the loader does not: numbers typed bare, defaults, class names."""
    if isinstance(node, list):
        for item in node:
            _adapt(item)
    elif isinstance(node, dict):
        node.pop("default", None)
        if isinstance(node.get("title"), str):
            node.pop("title")
        if node.get("const") == "1":  # format: 1
            del node["const"]
            node.pop("type", None)
            node["enum"] = [1, "1"]
        _adapt_keys(node)
        for key, item in node.items():
            # below these, keys are names of fields and models, not words of the schema language
            _adapt(list(item.values()) if key in ("properties", "$defs") else item)


def _adapt_keys(node: dict[str, Any]) -> None:
    """Refuse keys of the wrong spelling, which pydantic's own schema lets pass, and take `on` for a name."""
    if isinstance(keys := node.get("patternProperties"), dict):
        del node["patternProperties"]
        ((pattern, values),) = keys.items()
        node.update(propertyNames={"pattern": pattern}, additionalProperties=values)
    fields = node.get("properties")
    if isinstance(fields, dict) and (words := _READ_AS.keys() & fields.keys()):
        node.pop("additionalProperties")
        node["propertyNames"] = {"enum": [*fields, *(_READ_AS[word] for word in sorted(words))]}


SCHEMAS: Final[dict[str, Callable[[], dict[str, Any]]]] = {
    "profile": lambda: _schema(Profile, "labelkit unit profile, format 1"),
    "stock": lambda: _schema(StockFile, "labelkit stock, format 1"),
}
