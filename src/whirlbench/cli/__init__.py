"""The command line: parse, act, show. One file a command."""
