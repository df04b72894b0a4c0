"""The ``wintersward`` command as ``python -m wintersward``."""

from wintersward.cli import main

if __name__ == "__main__":
    main(prog_name="wintersward")
