"""`python -m tacticapi` is the command line."""

from tacticapi.cli import main

if __name__ == "__main__":
    main()
