"""``python -m composer`` is the command line."""

from composer.cli import main

main()
