"""filmwright: one description of a thin-film run, from plan to the next run."""

__version__ = "0.1.0"
__all__ = ["__version__"]
