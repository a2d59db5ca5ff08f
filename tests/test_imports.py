"""Who may import whom, held by reading the source: no package reaches where it must not, no circle, no hidden import."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
STANDARD = sys.stdlib_module_names
WEB, DATA, PAPER = {"flask", "flask_smorest", "marshmallow", "werkzeug"}, {"sqlalchemy", "alembic", "uuid_utils"}, {
    "jinja2", "weasyprint", "pydyf", "babel", "markupsafe",
}  # fmt: skip
MAY: dict[str, set[str]] = {
    "pricing": {"pricing"},
    "server.documents": {"pricing", "server.documents", *PAPER},
    "server.store": {"pricing", "server.store", *DATA},
    "server.access": {"pricing", "server.access", "server.store", "sqlalchemy", "argon2"},
    "server.services": {
        "pricing", "server.services", "server.store", "server.documents", "server.access", "server.config",
        "server.printing", "sqlalchemy", "brotli",
    },
    "server.api": {"pricing", "server.api", "server.services", "server.access", *WEB},
    "server": {"pricing", "server", "flask", "flask_smorest", "granian"},
}  # fmt: skip


def modules() -> Iterator[tuple[str, Path]]:
    for package in ("pricing", "server"):
        for path in sorted((ROOT / package).rglob("*.py")):
            if "migrations" not in path.parts:
                yield ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"), path


def package_of(module: str) -> str:
    parts = module.split(".")
    return module.split(".")[0] if parts[0] == "pricing" or len(parts) < 3 else ".".join(parts[:2])


def imports_of(module: str, path: Path) -> Iterator[str]:
    """The full names a module imports, at run time or for types."""
    base = module if path.name == "__init__.py" else module.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            parts = base.split(".")
            start = ".".join(parts[: len(parts) - node.level + 1]) if node.level else ""
            name = ".".join(part for part in (start, node.module) if part)
            yield from (f"{name}.{alias.name}" if node.module is None else name for alias in node.names)


ALL = dict(modules())


@pytest.mark.parametrize("module", ALL)
def test_a_module_imports_only_what_its_package_may(module: str) -> None:
    own = package_of(module)
    allowed = MAY.get(own) or MAY["server"]
    for name in imports_of(module, ALL[module]):
        top = name.split(".")[0]
        if top in STANDARD or top == "__future__":
            continue
        assert any(name == may or name.startswith(f"{may}.") for may in allowed), f"{module} imports {name}"


@pytest.mark.parametrize("module", ALL)
def test_no_import_hides_in_a_function(module: str) -> None:
    for node in ast.walk(ast.parse(ALL[module].read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            inner = [n for n in ast.walk(node) if isinstance(n, ast.Import | ast.ImportFrom)]
            assert not inner, f"{module}, line {node.lineno}"


def test_no_circle_of_imports() -> None:
    graph = {
        module: {name for name in imports_of(module, path) for name in (name, name.rpartition(".")[0]) if name in ALL}
        for module, path in ALL.items()
    }
    state: dict[str, int] = {}

    def visit(module: str, path: tuple[str, ...]) -> None:
        assert state.get(module) != 1 or module not in path, " → ".join((*path, module))
        if state.get(module) == 2:
            return
        state[module] = 1
        for other in graph[module] - {module}:
            if not module.startswith(other):
                visit(other, (*path, module))
        state[module] = 2

    for module in graph:
        visit(module, ())
    assert len(graph) > 50
