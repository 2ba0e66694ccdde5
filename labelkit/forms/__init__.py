"""What every kind of part looks like: plan and section of the forms in `labelkit.model.form`."""

from labelkit.forms.catalogue import materials, plan, section, sided

__all__ = ["materials", "plan", "section", "sided"]
