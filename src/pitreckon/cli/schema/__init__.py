"""What ``--json`` prints, command by command: the forms that the reference page and the tests are made of."""
