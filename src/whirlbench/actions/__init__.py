"""What a user can do, one verb a file. Both faces, command line and page, call these."""
