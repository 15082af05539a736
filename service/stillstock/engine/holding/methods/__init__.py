"""One holding method a file; every file here is found by `holding.register`."""
