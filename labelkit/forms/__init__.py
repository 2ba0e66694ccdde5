"""What every kind of part looks like: plan and section of the forms in `labelkit.model.form`."""

from labelkit.forms.catalogue import direction, materials, plan, section
from labelkit.forms.shapes import Face, Mark, Material, Plan, Polyline, Section

__all__ = [
    "Face",
    "Mark",
    "Material",
    "Plan",
    "Polyline",
    "Section",
    "direction",
    "materials",
    "plan",
    "section",
]
