"""The one base of every model: frozen, and closed to unknown keys."""

from __future__ import annotations

import ast
import inspect
from functools import cache
from itertools import pairwise
from textwrap import dedent

from pydantic import BaseModel, ConfigDict, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

__all__ = ["Model", "field_docstrings"]


class Model(BaseModel):
    """A value that cannot change and cannot carry a key nobody asked for.

    The docstring below a field is its description in the JSON schema. It is read when a schema is asked for and not
    when the class is made, which would cost every command a tenth of its time; models are built when first used, for
    the same reason.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=True, defer_build=True)

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler, /) -> JsonSchemaValue:
        """Return the schema with the fields described by their docstrings."""
        schema = handler(core_schema)
        properties = handler.resolve_ref_schema(schema).get("properties", {})
        for name, text in field_docstrings(cls).items():
            for key in (name, cls.model_fields[name].alias):
                if key in properties:
                    properties[key].setdefault("description", text)
        return schema


@cache
def field_docstrings(model: type[BaseModel]) -> dict[str, str]:
    """Return the docstrings that stand below the fields of a model, those of its bases included.

    Examples
    --------
    >>> from optimizer.scenario.shop import Motor
    >>> field_docstrings(Motor)["power_kw"]
    'Rated power on the nameplate, at the fastest speed where it has several.'
    """
    found: dict[str, str] = {}
    for part in reversed(model.__mro__):
        if not issubclass(part, BaseModel) or part is BaseModel:
            continue
        (body,) = ast.parse(dedent(inspect.getsource(part))).body
        assert isinstance(body, ast.ClassDef)
        for field, below in pairwise(body.body):
            if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
                text = below.value if isinstance(below, ast.Expr) else None
                if isinstance(text, ast.Constant) and isinstance(text.value, str):
                    found[field.target.id] = inspect.cleandoc(text.value)
    return {name: text for name, text in found.items() if name in model.model_fields}
