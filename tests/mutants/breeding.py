"""Makes mutants: one small, plausible fault each, by the standard library's syntax tree.

What nobody could notice is not made at all: docstrings, annotations, decorators, assertions,
`repr`, lines for a log, settings of a solver (how many steps, how fine), numbers up to one in
a million, the lock on an array that nobody writes to, the limit of a question for the newest.
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass

_TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.Gt: ast.LtE,
    ast.LtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
_EDGE: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
}
_OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
_PAIRS = (
    ("low", "high"),
    ("lower", "upper"),
    ("least", "most"),
    ("min", "max"),
    ("minimum", "maximum"),
    ("any", "all"),
    ("front", "rear"),
    ("left", "right"),
    ("bump", "rebound"),
    ("before", "after"),
    ("was", "now"),
    ("first", "last"),
)
SIDES = {a: b for pair in _PAIRS for a, b in (pair, pair[::-1])}
"""Names that have another side; one in the place of the other is a fault that reads well."""

_SETTINGS = {"maxsize", "max_nfev", "maxiter", "xtol", "ftol", "gtol", "rtol", "atol", "stacklevel"}
_SETTINGS |= {"strict", "dtype", "axis", "frozen", "slots", "tol", "diff_step", "x_scale", "method"}
_HOW_FINE = {"_STEP", "_POINTS", "_CURVE_POINTS"}
"""Names of a step for a slope and of the points of a grid: another one gives the same curve, as far
as anybody can see."""
_ON_A_GRID = {"linspace", "geomspace", "logspace"}
_EITHER_WAY = {"min", "max", "isclose", "maximum", "minimum", "hypot", "union", "allclose", "cast"}
_EITHER_WAY |= {"alike", "kinship"}  # ours: two names, two builds
_NEVER_SEEN = {"__repr__", "__hash__", "__rich_repr__", "guesses"}
"""Functions; of the last, where a search begins: from another place it ends at the same."""
_TOO_SMALL = 1e-6


@dataclass(frozen=True)
class Mutant:
    """The fault: of which kind, which node of the tree (in `ast.walk`'s order), what stands there
    instead; and in which function (`""`: none) of what names."""

    kind: str
    node: int
    instead: ast.AST
    line: int
    before: str
    after: str
    within: tuple[int, ...]
    """First lines of the functions around it, innermost last; empty where it runs on import."""
    names: tuple[str, ...]
    """The outermost function; where there is none, what is given its value on import."""

    def source(self, original: str) -> str:
        """The module with the fault in it, without its comments."""
        tree = ast.parse(original)
        target = list(ast.walk(tree))[self.node]
        for parent in ast.walk(tree):
            for field, value in ast.iter_fields(parent):
                if value is target:
                    setattr(parent, field, self.instead)
                elif isinstance(value, list):
                    setattr(parent, field, [self.instead if v is target else v for v in value])
        return ast.unparse(ast.fix_missing_locations(tree))


def breed(source: str) -> list[Mutant]:
    """Every mutant of a module, in the order of the text."""
    tree = ast.parse(source)
    nodes = list(ast.walk(tree))
    parents = {child: node for node in nodes for child in ast.iter_child_nodes(node)}
    silent = _silent(nodes, parents)
    sentences = [
        node
        for node in nodes
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if " " in node.value.strip() and any(map(str.isalpha, node.value))
        if not isinstance(parents[node], ast.Expr)
        if node not in silent and not _is_key(node, parents[node])
    ]
    attributes = {node.attr for node in nodes if isinstance(node, ast.Attribute)}
    made = []
    for i, node in enumerate(nodes):
        if node in silent:
            continue
        around = tuple(_around(node, parents))
        functions = [n for n in around if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
        for kind, instead in _faults(node, parents, around, attributes, sentences):
            mutant = Mutant(
                kind,
                i,
                instead,
                getattr(node, "lineno", 0) or _line(around),
                _short(node),
                _short(instead),
                tuple(_first_line(f) for f in reversed(functions)),
                (functions[-1].name,) if functions else tuple(_named(around)),
            )
            made.append(mutant)
    return sorted(made, key=lambda m: (m.line, m.kind, m.node, m.after))


def is_another(mutant: Mutant, source: str) -> bool:
    """Is a program, and another one than without the fault."""
    changed = mutant.source(source)
    try:
        compile(changed, "mutant", "exec")
    except (SyntaxError, ValueError):
        return False
    return changed != ast.unparse(ast.parse(source))


def _silent(nodes: list[ast.AST], parents: dict[ast.AST, ast.AST]) -> set[ast.AST]:
    """What nobody could notice, with all within it."""
    roots: list[ast.AST | None] = []
    for node in nodes:
        match node:
            case ast.FunctionDef() | ast.AsyncFunctionDef():
                roots += [node.returns, *node.decorator_list]
                roots += [node] if node.name in _NEVER_SEEN else []
            case ast.ClassDef():
                roots += node.decorator_list
                roots += [node] if any(ast.unparse(b) == "Protocol" for b in node.bases) else []
            case ast.arg():
                roots.append(node.annotation)
            case (
                ast.Assign(targets=[ast.Name(id=name)]) | ast.AnnAssign(target=ast.Name(id=name))
            ) if name in _HOW_FINE:
                roots.append(node)
            case ast.AnnAssign():
                roots.append(node.annotation)
            case ast.Assert() | ast.Import() | ast.ImportFrom():
                roots.append(node)
            case ast.Expr(value=ast.Constant()):  # a docstring, or `...`
                roots.append(node)
            case ast.If(test=ast.Name(id="TYPE_CHECKING")):
                roots.append(node)
            case ast.Raise() if "NotImplementedError" in ast.unparse(node):
                roots.append(node)
            case ast.Assign(targets=[ast.Name(id=name)]) if name.startswith("__"):
                roots.append(node)
            case ast.Call(func=func) if _last(func) in ("TypeVar", "cast", "getLogger", "NewType"):
                roots.append(node)
            case ast.Expr(
                value=ast.Call(func=ast.Attribute(value=ast.Name(id="log" | "logger" | "_log")))
            ):
                roots.append(node)
            case ast.Expr(value=ast.Call(func=ast.Attribute(attr="setflags"))):  # only a guard
                roots.append(node)
            case ast.Call(func=func, args=[_, _, size, *_]) if _last(func) in _ON_A_GRID:
                roots.append(size)
            case ast.keyword(arg=name) if name in _SETTINGS:
                roots.append(node)
            case ast.For(target=ast.Name(id="_"), iter=ast.Call(func=ast.Name(id="range"))):
                roots.append(node.iter)  # how many steps of a search
            case ast.Subscript(value=ast.Name(id="Literal")):  # for the checker of types alone
                roots.append(node)
            case ast.keyword(arg="limit", value=ast.Constant(value=1)):  # the first is used
                roots.append(node)
            case ast.FormattedValue():
                roots.append(node.format_spec)
            case ast.Name(ctx=ast.Store() | ast.Del()) | ast.Attribute(ctx=ast.Store()):
                roots.append(node)
    return {within for root in roots if root is not None for within in ast.walk(root)}


def _faults(
    node: ast.AST,
    parents: dict[ast.AST, ast.AST],
    around: tuple[ast.AST, ...],
    attributes: set[str],
    sentences: list[ast.Constant],
) -> Iterator[tuple[str, ast.AST]]:
    """The kinds of fault at that place, each with what stands there instead."""
    parent = parents.get(node)

    def changed(**fields: object) -> ast.AST:
        new = copy.copy(node)
        for name, value in fields.items():
            setattr(new, name, value)
        return new

    match node:
        case ast.Compare(ops=[op], left=left, comparators=[right]):
            if turned := _TURNED.get(type(op)):
                yield "comparison turned", changed(ops=[turned()])
            counted = isinstance(left, ast.Call) and _last(left.func) == "len"
            if counted and isinstance(right, ast.Constant) and type(op) in _EDGE:
                yield "edge of a count", changed(ops=[_EDGE[type(op)]()])
        case ast.BinOp(op=op, left=left, right=right):
            row = _is_row(left) or _is_row(right)
            if (other := _OPERATORS.get(type(op))) and not row and not _is_slack(right):
                yield "operator", changed(op=other())
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            yield "sign", operand
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "not dropped", operand
        case ast.BoolOp(op=op, values=values):
            yield "and, or", changed(op=ast.Or() if isinstance(op, ast.And) else ast.And())
            yield "condition dropped", changed(values=values[:-1]) if values[2:] else values[0]
        case ast.IfExp(body=body, orelse=orelse):
            yield "other branch", changed(body=orelse, orelse=body)
        case ast.If(test=test) if not isinstance(test, ast.Compare | ast.UnaryOp):
            yield "other branch", changed(test=ast.UnaryOp(ast.Not(), test))
        case ast.Call(func=func, args=[ast.Name() | ast.Attribute() as a, b]) if isinstance(
            b, ast.Name | ast.Attribute
        ):
            if _last(func) not in _EITHER_WAY | {"isinstance"}:
                yield "arguments swapped", changed(args=[b, a])
        case ast.Return(value=ast.Tuple(elts=[a, b]) as pair) if not isinstance(a, ast.Starred):
            new = copy.copy(pair)
            new.elts = [b, a]
            yield "pair swapped", changed(value=new)
        case ast.Expr(value=ast.Call() | ast.Yield()) | ast.AugAssign():
            yield "statement dropped", ast.Pass()
        case ast.JoinedStr(values=values):
            slots = [k for k, v in enumerate(values) if isinstance(v, ast.FormattedValue)]
            if len(slots) > 1 and not isinstance(parent, ast.FormattedValue):
                for k in slots:
                    yield "left out of a sentence", changed(values=values[:k] + values[k + 1 :])
        case ast.Constant(value=bool(value)):
            yield "true, false", changed(value=not value)
        case ast.Constant(value=int(value)):
            yield "number", changed(value=3 * value if abs(value) >= 10 else value + 1)
        case ast.Constant(value=float(value)):
            if value == 0 or abs(value) > _TOO_SMALL:
                yield "number", changed(value=3 * value if value else 1.0)
        case ast.Constant(value=str(value)):
            if value in SIDES:
                yield "side", changed(value=SIDES[value])
            elif node in sentences and (sentence := _next_sentence(node, sentences)):
                yield "sentence swapped", changed(value=sentence)
        case ast.Name(id=name) if name in SIDES:
            scope = next((n for n in around if isinstance(n, ast.FunctionDef)), around[-1])
            builtin = name in ("min", "max", "any", "all")
            known = {n.id for n in ast.walk(scope) if isinstance(n, ast.Name)}
            known |= {n.arg for n in ast.walk(scope) if isinstance(n, ast.arg)}
            if builtin or SIDES[name] in known:
                yield "side", changed(id=SIDES[name])
        case ast.Attribute(attr=name) if SIDES.get(name) in attributes:
            yield "side", changed(attr=SIDES[name])


def _is_row(node: ast.AST) -> bool:
    """Is text or a list, which cannot be taken away from another."""
    if isinstance(node, ast.BinOp):
        return _is_row(node.left) or _is_row(node.right)
    text = isinstance(node, ast.Constant) and isinstance(node.value, str)
    return text or isinstance(node, ast.JoinedStr | ast.List | ast.Tuple | ast.ListComp)


def _is_slack(node: ast.AST) -> bool:
    """Keeps from a division by zero, whatever its sign."""
    return (
        isinstance(node, ast.Constant)
        and isinstance(node.value, float)
        and (0 < abs(node.value) < _TOO_SMALL)
    )


def _is_key(node: ast.AST, parent: ast.AST | None) -> bool:
    keys = parent.keys if isinstance(parent, ast.Dict) else []
    return node in keys or isinstance(parent, ast.Compare | ast.Subscript)


def _next_sentence(node: ast.Constant, sentences: list[ast.Constant]) -> str:
    """The sentence that stands nearest in the same module, of another wording; else none."""
    others = [
        (abs(n.lineno - node.lineno), n.lineno, n.value) for n in sentences if n.value != node.value
    ]
    return str(min(others)[2]) if others else ""


def _last(func: ast.AST) -> str:
    return ast.unparse(func).rpartition(".")[2]


def _around(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> Iterator[ast.AST]:
    while node := parents.get(node):  # type: ignore[assignment]
        yield node


def _line(around: tuple[ast.AST, ...]) -> int:
    return next((n.lineno for n in around if hasattr(n, "lineno")), 1)


def _first_line(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """As the compiler counts it: a decorator belongs to the function."""
    return min([function.lineno, *(d.lineno for d in function.decorator_list)])


def _named(around: tuple[ast.AST, ...]) -> Iterator[str]:
    for node in around:
        if isinstance(node, ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            for target in targets:
                yield from (n.id for n in ast.walk(target) if isinstance(n, ast.Name))


def _short(node: ast.AST) -> str:
    text = " ".join(ast.unparse(ast.fix_missing_locations(node)).split())
    return text if len(text) <= 90 else f"{text[:60]} … {text[-27:]}"
