"""Run the command line with `python -m tacticapi`."""

from tacticapi.cli import main

if __name__ == "__main__":
    main()
