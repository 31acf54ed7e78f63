"""What every member of an answer means, said once for all answers that have it.

A key is a member's name, or the name of what it is a member of (a component, or the member that
holds the object), a dot and its name, where it means something else there.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from drawmark.web.document.responses.meanings import catalogues, cutting, fit, kit

ANSWERS: Final[dict[str, str]] = {**fit.MEANINGS, **cutting.MEANINGS, **kit.MEANINGS}
CATALOGUES: Final[dict[str, str]] = {**fit.MEANINGS, **catalogues.MEANINGS}


def described(
    schema: Mapping[str, Any], owner: str, meanings: Mapping[str, str] = ANSWERS
) -> dict[str, Any]:
    """Say of each member of a schema what it means.

    Parameters
    ----------
    schema : mapping
        JSON schema, in part of other objects or lists.
    owner : str
        Name of the component or of the member that it describes.
    meanings : mapping
        Meanings by name.

    Returns
    -------
    dict
        The schema with a description of every member.

    Raises
    ------
    KeyError
        Where a member has no meaning.
    """
    said = dict(schema)
    if "items" in said:
        said["items"] = described(said["items"], owner, meanings)
    if "properties" in said:
        said["properties"] = {
            name: {
                **described(member, name, meanings),
                "description": meanings.get(f"{owner}.{name}") or meanings[name],
            }
            for name, member in said["properties"].items()
        }
    return said
