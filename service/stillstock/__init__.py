"""Stillstock: will the stock on a CNC router stay still?"""

__all__ = ["MODEL_VERSION", "__version__"]

__version__ = "0.1.0"

#: Changes whenever the same set-up may get another number; part of every fingerprint.
MODEL_VERSION = "1"
