"""`python -m dashboard` serves the pages, like `rindwatch dashboard`."""

import sys

from collector.cli import main

if __name__ == "__main__":
    main(["dashboard", *sys.argv[1:]])
