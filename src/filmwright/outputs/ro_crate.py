"""The metadata of a hand-over bundle, as an RO-Crate: what each file is, whose, and how it came about."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

METADATA_NAME = "ro-crate-metadata.json"
_PROFILE = "https://w3id.org/ro/crate/1.2"


@dataclass(frozen=True, kw_only=True)
class CrateFile:
    """One file of a bundle.

    Attributes
    ----------
    path : str
        Within the bundle, with forward slashes.
    name : str
    media : str
        Media type.
    size : int [bytes]
    sha256 : str
    written : str
        ISO time at which it was kept; empty where it was made for the bundle.
    """

    path: str
    name: str
    media: str
    size: int
    sha256: str
    written: str = ""


@dataclass(frozen=True, kw_only=True)
class Crate:
    """What a bundle holds.

    Attributes
    ----------
    name, description : str
    made : str
        ISO time of the export.
    begun, ended : str
        ISO times of the first and the last thing that was done.
    people : tuple of str
        As they are written in the entries.
    version : str
        Of the program that wrote it.
    files : tuple of CrateFile
    """

    name: str
    description: str
    made: str
    begun: str
    ended: str
    people: tuple[str, ...]
    version: str
    files: tuple[CrateFile, ...]


def crate_json(crate: Crate) -> str:
    """The metadata file of a crate, as JSON-LD.

    Parameters
    ----------
    crate : Crate

    References
    ----------
    RO-Crate Metadata Specification 1.2, https://w3id.org/ro/crate/1.2 (published): the metadata descriptor, the root dataset with
    name, description, date and licence, a file entity for each file, contextual entities for people and software.
    """
    people = [
        {"@id": f"#person-{at}", "@type": "Person", "name": who} for at, who in enumerate(crate.people, 1)
    ]
    refer = [{"@id": each["@id"]} for each in people]
    program = {
        "@id": "#filmwright",
        "@type": "SoftwareApplication",
        "name": "filmwright",
        "softwareVersion": crate.version,
    }
    parts = [_file(each) for each in crate.files]
    root = {
        "@id": "./",
        "@type": "Dataset",
        "name": crate.name,
        "description": crate.description,
        "datePublished": crate.made,
        "license": {"@id": "#licence"},
        "hasPart": _references(parts),
        **({"author": refer} if refer else {}),
        "mentions": [{"@id": "#run"}],
    }
    licence = {
        "@id": "#licence",
        "@type": "CreativeWork",
        "name": "No licence stated",
        "description": "Ask the people named here before you pass it on.",
    }
    run = {
        "@id": "#run",
        "@type": "CreateAction",
        "name": crate.name,
        "startTime": crate.begun,
        "endTime": crate.ended,
        **({"agent": refer} if refer else {}),
        "instrument": {"@id": program["@id"]},
        "result": _references(parts),
    }
    descriptor = {
        "@id": METADATA_NAME,
        "@type": "CreativeWork",
        "about": {"@id": "./"},
        "conformsTo": {"@id": _PROFILE},
    }
    graph = [descriptor, root, *parts, *people, program, licence, run]
    return (
        json.dumps({"@context": f"{_PROFILE}/context", "@graph": graph}, indent=1, ensure_ascii=False) + "\n"
    )


def _file(file: CrateFile) -> dict[str, Any]:
    return {
        "@id": file.path,
        "@type": "File",
        "name": file.name,
        "encodingFormat": file.media,
        "contentSize": str(file.size),
        "sha256": file.sha256,
        **({"dateModified": file.written} if file.written else {}),
    }


def _references(parts: Sequence[dict[str, Any]]) -> list[dict[str, str]]:
    return [{"@id": each["@id"]} for each in parts]
