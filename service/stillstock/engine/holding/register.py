"""Finds every holding method: one file in `methods/` each, nothing to list by hand."""

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from types import MappingProxyType

from stillstock.engine.holding import methods as package
from stillstock.engine.holding.method import HoldingMethod

__all__ = ["methods"]


@cache
def methods() -> Mapping[str, type[HoldingMethod]]:
    """Return the class of each holding method by its kind, in alphabetical order.

    Raises
    ------
    ValueError
        If a file in `methods/` holds no class whose `kind` is the file's name.
    """
    found: dict[str, type[HoldingMethod]] = {}
    for name in sorted(entry.name for entry in iter_modules(package.__path__)):
        module = import_module(f"{package.__name__}.{name}")
        classes = [c for c in vars(module).values() if isinstance(c, type) and getattr(c, "kind", None) == name]
        if len(classes) != 1:
            raise ValueError(f"methods/{name}.py must hold one class of kind {name!r}")
        found[name] = classes[0]
    return MappingProxyType(found)
