"""``python -m readaid`` is the command ``readaid``."""

from readaid.cli import main

if __name__ == "__main__":
    main()
