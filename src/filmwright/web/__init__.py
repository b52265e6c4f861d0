"""Pages and JSON for the bench: requests to ``desk``, its answers as pages. Knows no SQL and no physics."""

__all__: list[str] = []
