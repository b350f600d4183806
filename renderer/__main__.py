"""python -m renderer is the same as halfstop."""

import sys

from renderer.cli import main

sys.exit(main())
