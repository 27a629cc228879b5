"""One file a command or a few kin, each with its own options; what is heavy is imported when the command runs."""
