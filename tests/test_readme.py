"""The README's commands are the ones that are run, and what it names exists."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def command(name: str) -> str:
    found = re.search(rf"<!-- {name} command, bash -->\n```bash\n(.+)\n```", README)
    assert found, f"README has no {name} command"
    return found[1]


def test_ci_runs_the_readme_test_command():
    """`.ci/run` cuts the command out of the README; what it cuts is the one line that ends in `python -m tests`."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    cut = re.search(r"command=\$\((.+)\)\n", script)
    assert cut
    assert 'eval "$command"' in script
    out = subprocess.run(["bash", "-c", cut[1]], cwd=ROOT, capture_output=True, text=True, check=True)
    assert out.stdout.strip() == command("test")
    assert command("test").endswith("-m tests")


def test_every_bash_command_has_a_powershell_twin():
    for tail in ("readaid demo", "-m tests"):
        assert len(re.findall(rf"```powershell\n.+{re.escape(tail)}.*\n```", README)) == 1


@pytest.mark.parametrize("path", sorted(set(re.findall(r"!\[[^\]]*\]\(([^)]+)\)|\]\((?!https?:|#)([^)]+)\)", README))))
def test_linked_files_exist(path):
    assert (ROOT / (path[0] or path[1])).exists()


def test_named_commands_exist():
    from readaid.cli import main

    for name in re.findall(r"readaid (\w[\w-]*) ", README):
        if name in ("is",):
            continue
        assert name in main.commands, name
