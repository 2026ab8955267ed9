"""A value of any kind, frozen."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

__all__ = ["Datum"]

_ENCODER: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
_quoted: Final = json.encoder.encode_basestring


@dataclass(frozen=True, slots=True)
class Datum:
    """A value as a job file holds it, of whatever kind; frozen, so kept as its text.

    Attributes:
        text: JSON with sorted keys and without spaces.
    """

    text: str = "null"

    def __str__(self) -> str:
        return self.text

    @classmethod
    def of(cls, data: object) -> Datum:
        """The datum of plain data.

        Raises:
            TypeError, ValueError: JSON cannot hold it.
        """
        # Most are plain values, of which an encoder would take many times as long.
        if data is None:
            return cls()
        if isinstance(data, str):
            return cls(_quoted(data))
        if isinstance(data, bool):
            return cls("true" if data else "false")
        if isinstance(data, int):
            return cls(int.__repr__(data))
        return cls(_ENCODER.encode(data))

    @property
    def data(self) -> Any:
        """Plain data: text, numbers, lists and groups."""
        return json.loads(self.text)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Plain data in the file, a `Datum` inside."""

        def check(value: object) -> Datum:
            try:
                return value if isinstance(value, Datum) else cls.of(value)
            except (TypeError, ValueError):
                raise PydanticCustomError("datum", "This is no value that a job file can hold.") from None

        return core_schema.no_info_plain_validator_function(
            check, serialization=core_schema.plain_serializer_function_ser_schema(lambda datum: datum.data)
        )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """The file schema: anything, as the field at the place decides."""
        return {"type": ["null", "boolean", "number", "string", "array", "object"]}
