"""The report a client reads: one idea a file, put in order by build."""
