"""Lets ``python -m diagnose`` do what the ``diagnose`` command does."""

from diagnose.commands.main import main

if __name__ == "__main__":
    main()
