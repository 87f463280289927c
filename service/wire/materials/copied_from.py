"""Which material of the catalogue a material of a request is, or is a copy of."""

from __future__ import annotations

from collections.abc import Mapping

from service.wire.base import WireSchema
from service.wire.fields import Described, Id, Json, Side, wrong
from service.wire.numbers import Count
from solver.materials import Origin


class CopiedFromSchema(WireSchema):
    """Which material of the catalogue a material is a copy of, and in which state."""

    id = Id("The material of the catalogue.", required=True)
    version = Count("The version it had.", 1, required=True)


class CatalogueField(Described):
    """A material of the catalogue: by id to be copied from there, with its version once it was."""

    _origin = CopiedFromSchema()

    def _deserialize(self, value: object, *_: object, **__: object) -> Origin:
        if not isinstance(value, Mapping):
            raise wrong("wrong_type", "must be the id of a material of the catalogue")
        return Origin(**self._origin.load(value))

    def _serialize(self, value: Origin | None, *_: object, **__: object) -> Json | None:
        return None if value is None else self._origin.dump(value)

    def shape(self, side: Side) -> Json:
        """An id where it is asked, or what is answered."""
        copied = side.ref(CopiedFromSchema)
        return {"anyOf": [Id().shape(side), copied]} if side.asked else copied
