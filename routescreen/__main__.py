"""Lets ``python -m routescreen`` do what the command ``routescreen`` does.

Room: the door of ``cli``.
"""

from __future__ import annotations

import sys

from routescreen.cli import main

if __name__ == "__main__":
    sys.exit(main())
