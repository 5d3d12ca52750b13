"""Imports run in the one direction of the data; what is public is documented."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# Each may import only from those before it (and from itself).
ORDER = (
    "errors", "times", "models", "lexicon", "sounds", "logistic", "listen", "understand", "weigh", "wording",
    "record", "review", "publish", "ledger", "score", "walkaround", "batch", "terminal", "cli",
)  # fmt: skip


def step_of(module: str) -> str | None:
    """The step that a dotted module name belongs to, None for a library's."""
    head, *rest = module.split(".")
    if head == "lexicon":
        return "lexicon"
    if head == "pipeline":
        return rest[0] if rest else None
    return None


def imports_of(path: Path) -> set[str]:
    """The dotted names that a file imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "pipeline":
                names.update(f"pipeline.{alias.name}" for alias in node.names)
            names.add(node.module)
    return names


SOURCES = sorted([*ROOT.glob("pipeline/**/*.py"), *ROOT.glob("lexicon/**/*.py")])


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_point_one_way(path: Path) -> None:
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    step = step_of(module)
    if step is None or step == "__init__":
        return
    assert step in ORDER, f"{step} has no place in the order"
    for name in imports_of(path):
        target = step_of(name)
        if target is None or target == "__version__":
            continue
        assert ORDER.index(target) <= ORDER.index(step), f"{module} imports {name}"


def test_lexicon_knows_nothing_of_the_pipeline() -> None:
    for path in ROOT.glob("lexicon/**/*.py"):
        assert not any(name.startswith("pipeline") for name in imports_of(path)), path


def test_every_test_folder_mirrors_a_package() -> None:
    folders = ("listen", "understand", "weigh", "review", "publish", "ledger", "score", "batch")
    for folder in folders:
        for test in (ROOT / "tests" / folder).glob("test_*.py"):
            modules = [path.stem for path in (ROOT / "pipeline" / folder).glob("*.py")]
            named = test.stem.removeprefix("test_")
            assert any(named.startswith(module) for module in modules), f"{test} mirrors no module"
