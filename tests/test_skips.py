"""Where CI is set, a test that is skipped although everything is installed fails the run."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FILES = {
    "test_marked.py": "import pytest\n@pytest.mark.skip(reason='oracle not installed')\ndef test_it(): pass\n",
    "test_within.py": "import pytest\ndef test_it(): pytest.skip('oracle not installed')\n",
    "test_whole.py": "import pytest\npytest.skip('oracle not installed', allow_module_level=True)\n",
    "test_right.py": "import pytest\ndef test_it(): pytest.skip('no right to mount a tmpfs here')\n",
    "test_wrong.py": "import pytest\n@pytest.mark.xfail(strict=True)\ndef test_it(): assert False\n"}


@pytest.mark.parametrize(("setting", "code", "told"), [
    ("true", 1, "1 failed, 1 skipped, 1 xfailed, 2 errors"), ("", 0, "4 skipped, 1 xfailed")])
def test_in_ci_an_unexpected_skip_fails(tmp_path, setting, code, told):
    for name, text in FILES.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    environment = {**os.environ, "CI": setting}
    done = subprocess.run([sys.executable, "-m", "pytest", "-q", "-p", "tests.conftest", "--rootdir", str(tmp_path),
                           "--continue-on-collection-errors", str(tmp_path)], cwd=ROOT, env=environment,
                          capture_output=True, text=True)
    assert done.returncode == code, done.stdout
    assert told in done.stdout
    assert ("expected here, but skipped: oracle not installed" in done.stdout) == bool(setting)
