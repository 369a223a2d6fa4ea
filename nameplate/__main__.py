"""`python -m nameplate` is the command `nameplate`."""

from nameplate.cli import main

if __name__ == "__main__":
    main(prog_name="nameplate")
