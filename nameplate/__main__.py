"""`python -m nameplate` is the command `nameplate`."""

import sys


def start() -> None:
    """Run the command line in this process, and end it with the exit code; also when Ctrl-C comes while it loads."""
    try:
        from nameplate.cli.commands import main

        main(prog_name="nameplate")
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    start()
