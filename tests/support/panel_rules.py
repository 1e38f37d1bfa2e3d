"""What a panel may compute: nothing but how things are drawn and in which unit they are written."""

from __future__ import annotations

import ast
import re

# Shaping, asking for what is missing, and the ends of an axis. No function that a law of nature is written with: no
# powers, roots, logarithms, exponentials, sums or means; those stand in wirecalc, where tests hold them.
SHAPING = {
    "append", "arange", "argmax", "argsort", "array", "asarray", "atleast_1d", "clip", "concatenate",
    "complex128", "empty", "float64", "full", "generic", "geomspace", "inf", "isclose",
    "isfinite", "isinf", "isnan", "linspace", "nan", "nan_to_num", "nanmax", "nanmin", "ndarray", "newaxis", "ptp",
    "random", "repeat", "searchsorted", "where", "zeros", "ceil", "floor",
}  # fmt: skip
# Geometry and scales of a drawing: file and function of numpy or math.
DRAWING = {
    ("bundle.py", "cos"), ("bundle.py", "sin"), ("bundle.py", "pi"), ("bundle.py", "cumsum"),  # circles of a bundle
    ("cable_picture.py", "cos"), ("cable_picture.py", "sin"), ("cable_picture.py", "radians"),  # a stripe on a core
    ("tree.py", "sqrt"), ("from_above.py", "sqrt"), ("from_above.py", "hypot"),  # how wide a wire is drawn, its bow
    ("circuit_drawing.py", "isqrt"), ("circuit_drawing.py", "sqrt"), ("circuit_drawing.py", "hypot"),  # its strands
    ("thermometer.py", "interp"),  # where a temperature stands on it
    ("response_parts.py", "log10"), ("choice.py", "log10"),  # plotly wants the ends of a logarithmic axis so
    ("problem_view.py", "log10"),  # how many digits, how far apart the ticks
    ("fields.py", "log"), ("lessons.py", "log"),  # where a value lies on its slider
}  # fmt: skip
# Units that a person reads, and bounds of entries: the constants of wirecalc that a panel may multiply with.
CONSTANTS = {"FOOT_M", "LONGEST_M", "DEAREST_PER_M", "MOST_ROWS"}
_UNIT = re.compile(r"_(v|a|w|ohm|db|c|m|m2|m3|hz|s|k|kg|j|henry|farad|per_m|fraction|ratio)$")
_MOST_DIGITS = 3  # of a number in a product: more is a constant of nature or a unit, which wirecalc has


def functions(source: str) -> set[str]:
    """What of numpy and math a source names."""
    names = re.findall(r"\b(?:np|math)\.(\w+)", source)
    return set(names)


def broken(source: str, file: str) -> list[str]:
    """Every place where a panel's source computes what is no panel's business, in words."""
    tree = ast.parse(source)
    modules = {
        alias.asname or alias.name: alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    ours = {
        alias.asname or alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("wirecalc")
        for alias in node.names
    }
    faults = []
    for node in ast.walk(tree):
        text = ast.unparse(node) if isinstance(node, ast.expr) else ""
        if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] in ("numpy", "math", "scipy"):
            names = {alias.name for alias in node.names} - {"NDArray", "ArrayLike"}
            faults += [f"{node.lineno}: {name} by itself" for name in sorted(names)]
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module = modules.get(node.value.id, "")
            if module in ("numpy", "math", "cmath", "scipy") and not (
                node.attr in SHAPING or (file, node.attr) in DRAWING
            ):
                faults.append(f"{node.lineno}: {text}")
        elif isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
            if (file, "log10") not in DRAWING:
                faults.append(f"{node.lineno}: a power, {text}")
        elif isinstance(node, ast.BinOp) and isinstance(node.op, (ast.Mult, ast.Div)):
            faults += [f"{node.lineno}: {what}" for what in _product(node, ours)]
    return faults


def _product(node: ast.BinOp, ours: set[str]) -> list[str]:
    """What is wrong with a product or quotient."""
    faults = []
    if _quantities(node.left) and _quantities(node.right):
        faults.append(f"two quantities, {ast.unparse(node)}")
    for side, other in ((node.left, node.right), (node.right, node.left)):
        if isinstance(other, ast.Constant) and other.value == 100:
            continue  # a share, written in per cent
        faults += [name for name in sorted(_names(side) & ours - CONSTANTS) if name.isupper()]
        if isinstance(side, ast.Constant) and isinstance(side.value, float) and _digits(side.value) > _MOST_DIGITS:
            faults.append(str(side.value))
    return faults


def _names(node: ast.AST) -> set[str]:
    """Names of one side of a product, not those within calls."""
    if isinstance(node, ast.Name):
        return {node.id}
    if isinstance(node, ast.Attribute):
        return {node.attr}
    if isinstance(node, ast.BinOp):
        return _names(node.left) | _names(node.right)
    if isinstance(node, ast.UnaryOp):
        return _names(node.operand)
    return set()


def _quantities(node: ast.AST) -> set[str]:
    """What of one side of a product is named like a quantity with its unit."""
    if isinstance(node, ast.Subscript):
        key = node.slice
        own = {key.value} if isinstance(key, ast.Constant) and isinstance(key.value, str) else set()
        return {name for name in own if _UNIT.search(name)} | _quantities(node.value)
    if isinstance(node, ast.BinOp):
        return _quantities(node.left) | _quantities(node.right)
    if isinstance(node, ast.UnaryOp):
        return _quantities(node.operand)
    if isinstance(node, ast.Call):
        inner = [*node.args, *([node.func] if isinstance(node.func, ast.Attribute) else [])]
        return set().union(*map(_quantities, inner))
    name = node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""
    return {name} if _UNIT.search(name) else set()


def _digits(number: float) -> int:
    """Significant ones."""
    return len(f"{number:.10e}".partition("e")[0].replace(".", "").rstrip("0"))
