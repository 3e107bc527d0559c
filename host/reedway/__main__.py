"""`python -m reedway` is the same as `reedway`."""

import sys

from reedway.cli import main

sys.exit(main())
