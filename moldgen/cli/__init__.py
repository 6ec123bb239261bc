"""The command line: words in, one specification, one call, the result shown."""

from moldgen.cli.app import main as main
