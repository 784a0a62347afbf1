"""A table of choices in the order of its keys."""

from __future__ import annotations

from optimizer.search.chains import Chain, _Table

__all__ = ["sorted_chain"]


def sorted_chain(table: _Table) -> Chain:
    """Return the choices in the order of the table's keys."""
    chain, order = table.chain, table.order
    columns = (
        getattr(chain, name)[order]
        for name in ("first", "last", "ratio_low", "ratio_high", "timber_mm3", "entering", "leaving")
    )
    return Chain(tuple(rows[order] for rows in chain.rows), *columns)
