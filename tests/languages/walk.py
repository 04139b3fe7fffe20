"""The sentences that the program's modules write, read off their sources."""

from __future__ import annotations

import ast
import re
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "routescreen"

# Modules whose texts stand in the columns of sentences of the results; `*.py` for a whole room.
MODULES = (
    "audit/*.py",
    "money/list_*.py",
    "money/item.py",
    "money/items.py",
    "explained/*.py",
    "search/crossing_ways.py",
    "search/limit_prices.py",
    "search/reasons.py",
    "search/shaft_reasons.py",
    "cli/answer.py",
    "answers/compare_show.py",
    "answers/stretches.py",
    "answers/works.py",
    "engineering/hazard_rules.py",
    "engineering/field.py",
    "engineering/hazards.py",
)


def edges_off(text: str) -> str:
    """Return a text without its full stop and the signs by which it joins on to another."""
    text = text.strip()
    if not text.startswith(", {"):
        text = re.sub(r"^[;:,](?=\s)", "", text).strip()
    return re.sub(r"[;:,]$", "", text).strip().removesuffix(".")


def sentences_of(path: Path) -> set[str]:
    """Return the texts of a module with a space in them, gaps numbered, those of its errors left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = _skipped(tree)
    texts = (_template(node) for node in ast.walk(tree) if id(node) not in skipped)
    return {edges_off(text) for text in texts if text is not None and _is_sentence(text)}


def warnings_of(path: Path) -> set[str]:
    """Return the sentences that a module hands to a method `warn`, gaps numbered."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and node.args]
    told = [
        call.args[0] for call in calls if isinstance(call.func, ast.Attribute) and call.func.attr == "warn"
    ]
    texts = (_template(node) for node in told)
    return {edges_off(text) for text in texts if text is not None and _is_sentence(text)}


def _is_sentence(text: str) -> bool:
    words = re.sub(r"\{\d+\}", "", text)
    return " " in text.strip() and re.search("[A-Za-z]{3}", words) is not None


def _skipped(tree: ast.AST) -> set[int]:
    """Return docstrings, annotations, errors, formats and parts of what is read as a whole."""
    found: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            for part in node.values:
                inner = part.format_spec if isinstance(part, ast.FormattedValue) else part
                found |= {id(below) for below in ast.walk(inner)} if inner is not None else set()
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            found.add(id(node.value))
        elif isinstance(node, ast.Raise):
            found |= {id(below) for below in ast.walk(node)}
        elif isinstance(node, ast.AnnAssign):
            found |= {id(below) for below in ast.walk(node.annotation)}
    return found


def _template(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        parts = re.split(r"\{[^{}]*\}", node.value)
        return "".join(part + (f"{{{k}}}" if k < len(parts) - 1 else "") for k, part in enumerate(parts))
    if isinstance(node, ast.JoinedStr):
        gaps, text = 0, ""
        for part in node.values:
            if isinstance(part, ast.Constant):
                text += str(part.value)
            else:
                text, gaps = f"{text}{{{gaps}}}", gaps + 1
        return text
    return None
