"""The two rules of the tree: imports point down, and one library has one home.

Every import counts, also those for type checkers and those inside functions.
"""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "trackside"

FLOORS = (
    ("errors",),
    ("units",),
    ("damper", "corner", "records", "preferences"),
    ("logbook",),
    ("analysis", "charts"),
    ("crew",),
    ("reports",),
    ("tui",),
    ("serve",),
    ("cli",),
    ("__main__",),
)
FLOOR = {part: level for level, parts in enumerate(FLOORS) for part in parts}

HOMES = {
    "numpy": {"damper", "corner", "analysis", "charts"},
    "scipy": {"damper", "corner", "analysis"},
    "pydantic": {"records", "preferences"},
    "sqlite_utils": {"logbook"},
    "sqlite3": {"logbook"},
    "psycopg": {"logbook"},
    "plotext": {"charts"},
    "textual": {"tui"},
    "rich": {"tui"},
    "aiohttp": {"serve"},
    "textual_serve": {"serve"},
    "click": {"cli"},
    "platformdirs": {"preferences"},
    "segno": {"reports"},
}
TESTS_ONLY = {"trustme", "zxingcpp", "CoolProp", "fluids", "pint", "hypothesis", "pytest", "tests"}


class Import(NamedTuple):
    """One import: the module it stands in, its part of the tree, what it names, where it stands."""

    module: Path
    part: str
    name: str
    line: int
    inside_function: bool


def imports() -> list[Import]:
    """Every import of every module under trackside/."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        part = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        found += [
            Import(path.relative_to(ROOT), part, name, line, inside)
            for name, line, inside in _named(ast.parse(path.read_text("utf-8")), path)
        ]
    return found


def _named(tree: ast.AST, path: Path, inside: bool = False) -> Iterator[tuple[str, int, bool]]:
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno, inside) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno} imports relatively"
            if node.module == "trackside":
                yield from ((f"trackside.{a.name}", node.lineno, inside) for a in node.names)
            elif node.module:
                yield node.module, node.lineno, inside
        is_function = isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda))
        yield from _named(node, path, inside or is_function)


ALL = imports()


def test_the_rule_sees_the_tree() -> None:
    assert {i.part for i in ALL} >= {part for parts in FLOORS for part in parts} - {"corner"}
    assert len(ALL) > 200


def test_imports_point_down_never_up_never_sideways() -> None:
    wrong = []
    for found in ALL:
        words = found.name.split(".")
        if words[0] != "trackside" or len(words) == 1 or words[1].startswith("__version"):
            continue
        target = words[1]
        if target == found.part:
            continue
        assert target in FLOOR, f"{found.module}: {target} has no floor"
        if FLOOR[target] >= FLOOR[found.part]:
            wrong.append(f"{found.module}:{found.line} imports {found.name}")
    assert wrong == []


def test_one_library_one_home() -> None:
    wrong = [
        f"{found.module}:{found.line} imports {found.name}"
        for found in ALL
        for library in [found.name.partition(".")[0]]
        if library in TESTS_ONLY or (library in HOMES and found.part not in HOMES[library])
    ]
    assert wrong == []


SHOWING = {"show", "show_span", "show_lap", "with_unit"}
"""What of units makes words of a number."""


def test_analysis_gives_facts_and_knows_no_preferences() -> None:
    """What a person prefers, and the words, belong to reports; where files lie is no preference."""
    telling = {
        path.stem
        for path in sorted((PACKAGE / "analysis").glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.ImportFrom)
        and any(
            (node.module == "trackside.preferences" and alias.name != "data_folder")
            or (node.module == "trackside.units" and alias.name in SHOWING)
            or (node.module == "trackside" and alias.name in ("preferences", "units"))
            for alias in node.names
        )
    }
    assert telling == set()


def test_analysis_has_no_function_that_makes_words() -> None:
    """A function named for words stands in reports; a reason may be what an error says."""
    named = {
        f"{path.stem}.{node.name}"
        for path in sorted((PACKAGE / "analysis").glob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        if node.name.endswith(("words", "_said", "sentence", "sentences", "told"))
    }
    assert named == set()


ERRORS = re.compile(r"^(No|Bad|Not|Unknown|Charge|Gas|Hub|Logbook)\w+$")
"""The names of errors, which give cause and remedy in words (trackside/errors.py)."""
PARTS_OF_ERRORS = {
    "analysis/parts.py": "names of the figures that NoEstimate asks for",
    "analysis/estimate.py": "what NoEstimate lacks",
    "analysis/rig.py": "cause and remedy of BadSheet",
    "analysis/rig_file.py": "cause and remedy of BadSheet",
    "analysis/sheet_gas.py": "cause and remedy of GasUnknown",
    "analysis/stops.py": "what NoEstimate lacks",
    "analysis/recall.py": "why a record could not be read, for the logbook's list of those",
    "corner/road_profile.py": "remedy of BadInput",
    "damper/sheet.py": "cause and remedy of BadSheet",
}
"""Files in which part of an error's sentence has a name of its own, and which."""


def sentences_in(path: Path) -> Iterator[str]:
    """Texts of four words or more that stand in the code itself: no docstring, no error's cause."""
    tree = ast.parse(path.read_text("utf-8"))
    above = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}

    def lies_in(node: ast.AST) -> Iterator[ast.AST]:
        while node in above:
            node = above[node]
            yield node

    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(
                str(v.value) if isinstance(v, ast.Constant) else "1" for v in node.values
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        around = list(lies_in(node))
        words = [word for word in text.split() if word.strip(",:;.").isalpha()]
        if isinstance(around[0], (ast.Expr, ast.JoinedStr)) or len(words) < 4:
            continue
        if any(isinstance(one, ast.Raise) for one in around) or any(
            isinstance(one, ast.Call) and ERRORS.match(ast.unparse(one.func)) for one in around
        ):
            continue
        yield text


@pytest.mark.parametrize("room", ["analysis", "damper", "corner", "road"])
def test_facts_are_no_sentences(room: str) -> None:
    """What analysis finds is a kind and its figures; reports makes the sentence. An error may say
    why there is none."""
    told = {
        f"{room}/{path.name}: {text}"
        for path in sorted((PACKAGE / room).glob("*.py"))
        if f"{room}/{path.name}" not in PARTS_OF_ERRORS
        for text in sentences_in(path)
    }
    assert told == set()


def test_each_file_with_parts_of_errors_still_has_some() -> None:
    assert [name for name in PARTS_OF_ERRORS if not any(sentences_in(PACKAGE / name))] == []


CURVES = {"DirectionFit", "Family", "CarriedCurve", "CalibratedCurve", "ShopCurve", "PartsCurve"}
"""What answers to damper.curve.Curve."""


def test_nobody_asks_of_which_kind_a_curve_is() -> None:
    """All of them answer to one protocol; what else a page wants to know of one is a fact of its
    ground."""
    asked = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance"
        if CURVES & {name.id for name in ast.walk(node.args[1]) if isinstance(name, ast.Name)}
    ]
    assert asked == []


def guesses(path: Path) -> list[str]:
    """Where a file asks for a name that may not be there, or leaves what it declares to others."""
    return [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if (isinstance(node, ast.Call) and ast.unparse(node.func) == "getattr" and node.args[2:])
        or (isinstance(node, ast.Raise) and "NotImplementedError" in ast.unparse(node))
    ]


def test_pages_and_the_app_ask_only_for_what_is_declared() -> None:
    """What the app may ask of a page stands in Page and Layer, what a page may ask in Host: a name
    that is mistyped is then found by mypy, and no stub waits for a class that may never come."""
    assert [
        place for path in sorted((PACKAGE / "tui").rglob("*.py")) for place in guesses(path)
    ] == []


@pytest.mark.parametrize(
    "room", [path.parent.name for path in sorted(PACKAGE.glob("*/__init__.py"))]
)
def test_no_circle_of_files_inside_a_room(room: str) -> None:
    """Each file is read once those that it imports have been, so an order exists."""
    files = {
        f"trackside.{'.'.join(path.relative_to(PACKAGE).with_suffix('').parts)}": path
        for path in (PACKAGE / room).rglob("*.py")
    }
    needs = {
        name: {
            target
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.ImportFrom) and node.module
            for target in (node.module, *(f"{node.module}.{alias.name}" for alias in node.names))
            if target in files and target != name
        }
        for name, path in files.items()
    }
    list(TopologicalSorter(needs).static_order())  # CycleError names the files of a circle


def test_scipy_is_imported_on_use_only() -> None:
    wrong = [
        f"{found.module}:{found.line}"
        for found in ALL
        if found.name.partition(".")[0] == "scipy" and not found.inside_function
    ]
    assert wrong == []


def test_every_third_party_library_has_a_home() -> None:
    known = set(sys.stdlib_module_names) | set(HOMES) | {"trackside"}
    assert {f.name.partition(".")[0] for f in ALL} <= known


@pytest.mark.parametrize(
    ("module", "absent"),
    [
        ("trackside.errors", ("numpy", "pydantic", "click", "textual", "trackside.units")),
        ("trackside.units", ("numpy", "pydantic", "click", "textual")),
        ("trackside.preferences", ("numpy", "pydantic", "click", "textual")),
        ("trackside.damper.sheet_fit", ("scipy", "pydantic", "textual", "trackside.records")),
        ("trackside.records", ("numpy", "textual", "trackside.damper", "trackside.logbook")),
        ("trackside.logbook", ("numpy", "pydantic", "sqlite_utils", "textual")),
        (
            "trackside.tui.app, trackside.tui.screens.board",
            ("numpy", "pydantic", "scipy", "sqlite_utils", "plotext", "textual.document"),
        ),
        ("trackside.analysis.changes", ("scipy", "textual", "plotext", "sqlite_utils")),
        ("trackside.charts", ("scipy", "textual", "pydantic", "trackside.analysis")),
        ("trackside.cli", ("numpy", "textual", "trackside.logbook", "trackside.cli.forces")),
        (
            ", ".join(
                f"trackside.cli.{path.stem}" for path in sorted((PACKAGE / "cli").glob("[a-z]*.py"))
            ),
            ("numpy", "pydantic", "textual", "plotext", "trackside.logbook"),
        ),
        ("trackside.tui.app", ("scipy", "click", "trackside.cli")),
        ("trackside.serve.child", ("textual", "aiohttp", "textual_serve", "trackside.tui")),
        ("trackside.serve.server", ("numpy", "pydantic", "click", "trackside.logbook")),
    ],
)
def test_a_fresh_process_loads_no_more_than_the_floor_below(
    module: str, absent: tuple[str, ...]
) -> None:
    script = f"import json, sys, {module}; print(json.dumps(sorted(sys.modules)))"
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert set(absent) & set(json.loads(ran.stdout)) == set()


TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "trackside", "tests",
       "sample_sessions"}  # fmt: skip


def test_the_tree_begins_with_these_alone() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone")
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    first = {path.split("/")[0] for path in listed}
    assert {name for name in first if not name.startswith(".")} == TOP
