"""The digest by which an answer can be told from any other."""

import hashlib
import json

from stillstock import MODEL_VERSION
from stillstock.web.body import Document

__all__ = ["fingerprint"]


def fingerprint(document: Document) -> str:
    """Return the digest of a document, whatever the order of its members, and of the model that judges it."""
    text = json.dumps(document, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(f"{MODEL_VERSION}\n{text}".encode()).hexdigest()[:32]
