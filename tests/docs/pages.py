"""The documentation as pages and blocks, and how their examples are run."""

from __future__ import annotations

import doctest
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = [*sorted(DOCS.glob("*.md")), ROOT / "README.md", ROOT / "CHANGELOG.md"]
FENCE = re.compile(r"^```(\w*)[ \t]*([^\n]*)\n(.*?)^```[ \t]*$", re.MULTILINE | re.DOTALL)
EXIT = re.compile(r"^\(exit code (\d)\)$")
COLUMNS = "200"  # so that no line is broken


@dataclass(frozen=True)
class Block:
    """A fenced block: `name` is a file to write, or empty."""

    page: str
    line: int
    language: str
    name: str
    text: str


def read(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def blocks(page: Path) -> list[Block]:
    text = read(page)
    return [
        Block(page.name, text[: one.start()].count("\n") + 2, one[1], one[2].strip(), one[3])
        for one in FENCE.finditer(text)
    ]


def prose(page: Path) -> str:
    """Return a page without its fenced blocks."""
    return FENCE.sub("", read(page))


def run_page(page: Path, folder: Path) -> int:
    """Run a page's examples in order in a folder; return how many there were."""
    shared: dict[str, object] = {"__name__": "docs"}
    done = 0
    for block in blocks(page):
        if block.name:
            _write(block, folder)
        elif block.language == "console":
            done += _console(block, folder)
        elif block.language == "python":
            _python(block, shared)
            done += 1
    return done


def _write(block: Block, folder: Path) -> None:
    target = folder / block.name
    assert target.resolve().is_relative_to(folder.resolve()), f"{block.page}:{block.line}: writes outside its folder"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(block.text, encoding="utf-8")


def _python(block: Block, shared: dict[str, object]) -> None:
    where = f"{block.page}:{block.line}"
    if ">>>" not in block.text:
        exec(compile("\n" * (block.line - 1) + block.text, where, "exec"), shared)
        return
    test = doctest.DocTestParser().get_doctest(block.text, shared, where, where, block.line)
    found: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    runner.run(test, out=found.append, clear_globs=False)
    shared.update(test.globs)
    assert not runner.failures, "".join(found)


def _console(block: Block, folder: Path) -> int:
    """Run every command of a block and look for the lines shown below it."""
    runs: list[tuple[str, list[str]]] = []
    for line in block.text.splitlines():
        if line.startswith("$ "):
            runs.append((line[2:], []))
        else:
            assert runs, f"{block.page}:{block.line}: output before any command"
            runs[-1][1].append(line)
    for command, shown in runs:
        _run(f"{block.page}:{block.line}", command, shown, folder)
    return len(runs)


def _run(where: str, command: str, shown: list[str], folder: Path) -> None:
    import shlex

    words = shlex.split(command)
    assert words[0] == "loamery", f"{where}: only loamery is run here, not {words[0]}"
    code = next((int(found[1]) for line in shown if (found := EXIT.match(line))), 0)
    done = subprocess.run(
        [sys.executable, "-m", "loamery.cli", *words[1:]],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={**os.environ, "COLUMNS": COLUMNS, "PYTHONUTF8": "1", "NO_COLOR": "1"},
        timeout=120,
    )
    printed = done.stdout + done.stderr
    assert done.returncode == code, f"{where}: $ {command}\nexit code {done.returncode}, not {code}\n{printed}"
    rest = [_plain(line) for line in printed.splitlines()]
    for line in shown:
        if not line.strip() or line.strip() == "..." or EXIT.match(line):
            continue
        pattern = re.compile(".*".join(re.escape(part.strip()) for part in _plain(line).split("...")))
        place = next((n for n, other in enumerate(rest) if pattern.fullmatch(other)), None)
        assert place is not None, f"{where}: $ {command}\ndoes not print, in this order:\n{line}\nbut\n{printed}"
        rest = rest[place + 1 :]


def _plain(line: str) -> str:
    return " ".join(line.split())
