"""The faces of the planking that hulls are compared to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import ScrieveError

if TYPE_CHECKING:
    from ..hull.hull import Hull

# The faces of the planking, as a file names them and as they are asked for.
FACES = {"inside": "inside of planking", "outside": "outside of planking"}


def brought(hull: Hull, face: str, planking: float | None) -> Hull:
    """The hull to that face of her planking. Raises `ScrieveError` with what would do."""
    if planking is None and hull.source.facts.get("planking") is None:
        raise ScrieveError(
            f"given to the {hull.moulded_to}, and compared to the {FACES[face]}, but her file gives no planking: write "
            "planking in her head, assume one (planking=, --planking), or leave her out"
        )
    try:
        return hull.to(face, planking)
    except ValueError as error:
        other = "outside" if face == "inside" else "inside"
        raise ScrieveError(
            f"given to the {hull.moulded_to}, she cannot be brought to the {FACES[face]}: {error}; compare all to the "
            f"{other} (moulded_to=, --moulded-to), or leave her out"
        ) from None
