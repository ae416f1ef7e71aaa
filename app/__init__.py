"""Top floor: the studio window and the command line. Computes no pixel."""
