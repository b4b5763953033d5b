"""``python -m readaid`` is the command ``readaid``."""

import os
import sys

if __name__ == "__main__":
    # ``-m`` puts the working folder first in the import path: a ``click.py`` in a folder from a colleague would run.
    if sys.path and sys.path[0] in ("", os.getcwd()) and not getattr(sys.flags, "safe_path", False):
        del sys.path[0]

    from readaid.cli import main

    main()
