"""Mathematics that is useful to someone who never saw a clean room."""

from filmwright.numerics.region import Polyline, Region

__all__ = ["Polyline", "Region"]
