"""The one base of every model: frozen, and closed to unknown keys."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

__all__ = ["Model"]


class Model(BaseModel):
    """A value that cannot change and cannot carry a key nobody asked for."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True, allow_inf_nan=True)
