"""Lots, entries and files for programs: an application of its own under ``/api``, described by OpenAPI 3.1."""

from filmwright.web.api.application import programs

__all__ = ["programs"]
