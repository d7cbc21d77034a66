"""Files of data loggers: delimited text of any shape, to series in C or % with a preview of how it was read."""
