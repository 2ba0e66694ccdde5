"""What every kind of part looks like: plan, section and envelope of the forms in `labelkit.model.form`."""

from labelkit.forms.catalogue import direction, envelope, plan, section
from labelkit.forms.shapes import Envelope, Face, Mark, Material, Plan, Polyline, Section

__all__ = [
    "Envelope",
    "Face",
    "Mark",
    "Material",
    "Plan",
    "Polyline",
    "Section",
    "direction",
    "envelope",
    "plan",
    "section",
]
