"""``python -m service``: the command ``lapstock``."""

from service.cli import main

if __name__ == "__main__":
    main(prog_name="lapstock")
