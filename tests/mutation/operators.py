"""What is broken on purpose: small changes of a syntax tree, one at a time.

The set follows the operators that general tools for mutation testing share (boundary and negation of
comparisons, arithmetic, logic, numbers, returns, defaults, statements left out), with a few calls that are
easily mixed up here (least and greatest, all and any). Words of messages, annotations and decorators stay.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from copy import deepcopy

__all__ = ["changes_of"]

Change = tuple[str, ast.AST]
"""Name of the operator, what takes the node's place."""

COMPARISONS: dict[type[ast.cmpop], tuple[tuple[str, type[ast.cmpop]], ...]] = {
    ast.Lt: (("boundary", ast.LtE), ("negation", ast.GtE)),
    ast.LtE: (("boundary", ast.Lt), ("negation", ast.Gt)),
    ast.Gt: (("boundary", ast.GtE), ("negation", ast.LtE)),
    ast.GtE: (("boundary", ast.Gt), ("negation", ast.Lt)),
    ast.Eq: (("negation", ast.NotEq),),
    ast.NotEq: (("negation", ast.Eq),),
    ast.Is: (("negation", ast.IsNot),),
    ast.IsNot: (("negation", ast.Is),),
    ast.In: (("negation", ast.NotIn),),
    ast.NotIn: (("negation", ast.In),),
}
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Div,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.BitXor: ast.BitAnd,
    ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}
PAIRS = (
    ("min", "max"),
    ("minimum", "maximum"),
    ("argmin", "argmax"),
    ("all", "any"),
    ("floor", "ceil"),
    ("sin", "cos"),
    ("left", "right"),
)
NAMES = {one: other for pair in PAIRS for one, other in (pair, pair[::-1])}


def changes_of(node: ast.AST, parent: ast.AST, field: str) -> Iterator[Change]:
    """Yield every change of one node, by operator; the node itself is left as it is."""
    if isinstance(node, ast.Compare):
        yield from _comparisons(node)
    elif isinstance(node, ast.BinOp | ast.AugAssign):
        yield from _arithmetic(node)
    elif isinstance(node, ast.BoolOp):
        yield "logic", ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    elif isinstance(node, ast.UnaryOp) and not isinstance(node.op, ast.UAdd):
        yield "sign" if isinstance(node.op, ast.USub) else "logic", node.operand
    elif isinstance(node, ast.Constant):
        yield from _constants(node, parent, field)
    elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id in NAMES:
        yield "call", ast.Name(NAMES[node.id], ast.Load())
    elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load) and node.attr in NAMES:
        yield "call", ast.Attribute(node.value, NAMES[node.attr], ast.Load())
    elif isinstance(node, ast.stmt):
        yield from _statements(node)
    if field in ("test", "ifs") and not isinstance(node, ast.Compare | ast.BoolOp | ast.UnaryOp):
        yield "negation", ast.UnaryOp(ast.Not(), node)  # type: ignore[arg-type]  # what is tested is an expression


def _comparisons(node: ast.Compare) -> Iterator[Change]:
    for place, op in enumerate(node.ops):
        for name, other in COMPARISONS[type(op)]:
            yield name, ast.Compare(node.left, [*node.ops[:place], other(), *node.ops[place + 1 :]], node.comparators)


def _arithmetic(node: ast.BinOp | ast.AugAssign) -> Iterator[Change]:
    other = ARITHMETIC.get(type(node.op))
    if other is None:
        return
    if isinstance(node, ast.BinOp):
        yield "arithmetic", ast.BinOp(node.left, other(), node.right)
    else:
        yield "arithmetic", ast.AugAssign(node.target, other(), node.value)


def _constants(node: ast.Constant, parent: ast.AST, field: str) -> Iterator[Change]:
    if isinstance(parent, ast.keyword) and parent.arg == "strict":
        return  # only says that two things are of one length
    if isinstance(node.value, bool):
        yield "constant", ast.Constant(not node.value)
    elif isinstance(node.value, int | float):
        yield "constant", ast.Constant(node.value + 1)
    elif isinstance(parent, ast.keyword) and parent.arg == "side" and node.value in NAMES:
        yield "constant", ast.Constant(NAMES[str(node.value)])


def _statements(node: ast.stmt) -> Iterator[Change]:
    if isinstance(node, ast.Return) and node.value is not None and not _is_none(node.value):
        yield "return", ast.Return(ast.Constant(None))
    elif isinstance(node, ast.Break):
        yield "loop", ast.Continue()
    elif isinstance(node, ast.Continue):
        yield "loop", ast.Break()
    elif isinstance(node, ast.For):
        yield "loop", ast.For(node.target, ast.Tuple([], ast.Load()), deepcopy(node.body), node.orelse)
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call | ast.Yield | ast.YieldFrom):
        # so that what yields nothing any more still is a generator
        yield "statement left out", ast.If(ast.Constant(False), [node], [])


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None
