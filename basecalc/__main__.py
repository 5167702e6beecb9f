"""``python -m basecalc`` is the command line."""

from basecalc.cli import main

main()
