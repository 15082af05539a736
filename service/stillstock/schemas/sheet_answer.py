"""The sheet as a document for scripts."""

from typing import Any

from stillstock.answers.sheet import Sheet

__all__ = ["sheet_document"]


def sheet_document(sheet: Sheet) -> dict[str, Any]:
    """Return what stands on the sheet, in the order of reading."""
    return {
        "summary": sheet.summary,
        "verdict": sheet.verdict,
        "title": sheet.title,
        "paper": str(sheet.paper),
        "scale": sheet.picture.scale,
        "head": dict(sheet.head),
        "hold": list(sheet.hold),
        "holders": _rows(sheet.holders_head, sheet.holders),
        "tools": _rows(sheet.tools_head, sheet.tools),
        "heights": dict(sheet.heights),
        "clear_up": list(sheet.clear_up),
        "places": list(sheet.places),
        "steps": _groups(sheet.steps),
        "checks": list(sheet.checks),
        "consumables": _rows(sheet.consumables_head, sheet.consumables),
        "release": _groups(sheet.release),
        "if_it_slips": sheet.if_it_slips,
        "cautions": list(sheet.cautions),
        "notes": list(sheet.notes),
        "left_out": list(sheet.left_out),
        "fingerprint": sheet.fingerprint,
    }


def _rows(head: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> dict[str, Any]:
    return {"head": list(head), "rows": [list(row) for row in rows]}


def _groups(groups: tuple[tuple[str, tuple[str, ...]], ...]) -> list[dict[str, Any]]:
    return [{"heading": heading, "lines": list(lines)} for heading, lines in groups]
