"""The table of faults is the one of its results."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path


def test_the_table_of_faults_is_built_from_its_results():
    script = Path(__file__).parents[1] / "faults/table.py"
    assert subprocess.run([sys.executable, str(script), "--check"]).returncode == 0
