"""A field that holds one of the forms: its name with its sizes, as in `{ring: {od: 72, id: 50, t: 2.6}}`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Union

from pydantic import BeforeValidator, Discriminator, GetJsonSchemaHandler, Tag
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from labelkit.errors import allowed_text
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.formwords import kinds_of
from labelkit.model.scalars import fault


def _known(value: Any) -> Any:
    """Refuse what is not one known form with its sizes."""
    if isinstance(value, Form):
        return value
    if not isinstance(value, dict) or len(value) != 1:
        raise fault("a form is one name with its sizes, as in {ring: {od: 72, id: 50, t: 2.6}}")
    name = str(next(iter(value)))
    if name not in FORMS:
        # What the trade calls it tells more than letters that resemble it: a screw is no block.
        kinds = kinds_of(name)
        meant = f"; did you mean {' or '.join(kinds)}?" if kinds else ""
        raise fault(f'found the form "{name}"; {allowed_text("" if kinds else name, FORMS, most=len(FORMS))}{meant}')
    return value


def _tag(value: Any) -> str:
    """Return which form a value is; the name becomes part of an error's place."""
    return value.kind if isinstance(value, Form) else str(next(iter(value)))


class _OneOfForms:
    """Describes the wrapped form to editors: a mapping with exactly one of the form names."""

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        branches = handler(schema)["oneOf"]
        return {
            "type": "object",
            "properties": dict(zip(FORMS, branches, strict=True)),
            "additionalProperties": False,
            "minProperties": 1,
            "maxProperties": 1,
        }


if TYPE_CHECKING:
    AnyForm = Form
else:
    # Built from the table, so that a new form is one class and one row.
    AnyForm = Annotated[
        Union[tuple(Annotated[form, Tag(name)] for name, form in FORMS.items())],  # noqa: UP007
        Discriminator(_tag),
        _OneOfForms(),
        BeforeValidator(_known),
    ]
