"""Where the energy goes, what holds the turbine back, and what to do next. Pure: no files, no database."""
