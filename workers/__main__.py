"""``python -m workers``: one worker process; with ``--counter`` it makes only plans that somebody waits for."""

import logging
import sys

from workers.tied import die_with_parent
from workers.worker import run

if __name__ == "__main__":
    if "--tied" in sys.argv[1:]:
        die_with_parent()
    logging.basicConfig(level=logging.WARNING, format="%(asctime)s %(name)s: %(message)s")
    run(counter="--counter" in sys.argv[1:])
