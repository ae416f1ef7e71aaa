"""The test strip: laid out, made, read, judged and fitted."""
