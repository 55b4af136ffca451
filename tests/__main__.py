"""`python3 -m tests [--long] [pytest arguments]`: set up, then check and test everything."""

import sys

from mobile import bootstrap

if __name__ == "__main__":
    bootstrap.enter("tests", extras=("dev",))
    from tests.support import everything

    sys.exit(everything.run(sys.argv[1:]))
