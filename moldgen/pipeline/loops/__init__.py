"""The compiled loops: which of them a command needs, and compiling those that are missing."""
