"""``python -m benchterm``."""

from benchterm.cli import main

if __name__ == "__main__":
    main()
