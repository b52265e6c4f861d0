"""A value that can say where it comes from."""

from filmwright.sources.value import KINDS, Kind, Source, Value

__all__ = ["KINDS", "Kind", "Source", "Value"]
