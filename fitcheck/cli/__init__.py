"""The command line: thin, a file a command."""
