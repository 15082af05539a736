"""The set-up sheet as one HTML page with print styles; everything a caller wrote is escaped."""

from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from stillstock.answers.sheet import Sheet
from stillstock.writers.sheet_pens import PENS
from stillstock.writers.svg import svg
from stillstock.writers.text import clean

__all__ = ["MEDIA_TYPE", "sheet_html"]

MEDIA_TYPE = "text/html"


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("stillstock.writers"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    environment.filters["clean"] = clean
    return environment.get_template("sheet.html")


def sheet_html(sheet: Sheet) -> str:
    """Return the sheet as a page that loads nothing and runs nothing."""
    picture = svg(sheet.picture.drawing, pens=PENS, border=0.001)
    # The drawing's writer escapes its text; the XML declaration has no place inside a page.
    inline = Markup(picture.partition(b"\n")[2].decode())  # noqa: S704
    return _template().render(sheet=sheet, picture=inline, paper=sheet.paper.value)
