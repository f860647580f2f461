"""The command line: options, progress, exit codes; one command a file."""
