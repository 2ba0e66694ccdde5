from dataclasses import dataclass
from labelkit.forms.geometry import *
@dataclass
class F: contour: object; material: str="metal"
@dataclass
class S: faces: tuple; lines: tuple; round: bool
def direction(form): return form.way is not None
def section(form): return S((F(polygon([(20,0),(36,0),(36,20),(30,20),(30,5),(20,5)])),),(),True)
