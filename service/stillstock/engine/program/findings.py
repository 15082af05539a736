"""Collecting findings: the same one on many lines is told once, and their number is bounded."""

from stillstock.engine.program.moves import Finding

__all__ = ["FINDING_LIMIT", "FindingList"]

FINDING_LIMIT = 200
"""Different findings that are told one by one. [-]"""


class FindingList:
    """Findings in the order in which they were first met."""

    def __init__(self) -> None:
        self._first: dict[tuple[str, str], Finding] = {}
        self._more: dict[tuple[str, str], int] = {}
        self._dropped = 0
        self._dropped_doubt = False

    def add(self, line: int, code: str, detail: str, *, doubt: bool, lines: int = 1) -> None:
        """Note a finding on `lines` lines of which `line` is the first."""
        key = (code, detail)
        if key in self._first:
            self._more[key] += lines
        elif len(self._first) < FINDING_LIMIT:
            self._first[key] = Finding(line=line, code=code, detail=detail, doubt=doubt)
            self._more[key] = lines - 1
        else:
            self._dropped += lines
            self._dropped_doubt |= doubt

    def all(self) -> tuple[Finding, ...]:
        """Every finding by line; the last says how many more there are."""
        told = [self._told(key, finding) for key, finding in self._first.items()]
        told.sort(key=lambda finding: finding.line)
        if self._dropped:
            detail = f"{self._dropped} more findings are not listed"
            told.append(Finding(line=0, code="more_findings", detail=detail, doubt=self._dropped_doubt))
        return tuple(told)

    def _told(self, key: tuple[str, str], finding: Finding) -> Finding:
        more = self._more[key]
        if not more:
            return finding
        detail = f"{finding.detail} (and {more} more)"
        return Finding(line=finding.line, code=finding.code, detail=detail, doubt=finding.doubt)
