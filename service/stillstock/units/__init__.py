r"""The units boundary: text and bare numbers of a document in, SI floats inside, the caller's units out.

A caller's text never reaches a general unit parser: those evaluate arithmetic, read ``1,5 mm`` as 15 mm and
``1 1/2 in`` as 0.5 in. Text is read by a grammar of our own (`grammar`), with a list of units that knows how shops
write (`dimensions`) and refusals that say what was probably meant (`refusal`). A bare number is in the document's unit:
`DOCUMENT_UNITS` says which (a spindle's power in kW or in mechanical hp, 550 ft lbf/s = 745.70 W).
"""

from stillstock.units.dimensions import DOCUMENT_UNITS, SYSTEMS, System
from stillstock.units.grammar import LONGEST, pattern
from stillstock.units.quantity import parse, present, unit_name
from stillstock.units.refusal import UnitError

__all__ = ["DOCUMENT_UNITS", "LONGEST", "SYSTEMS", "System", "UnitError", "parse", "pattern", "present", "unit_name"]
