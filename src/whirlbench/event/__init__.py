"""What an event asks of a turbine and how it is run; pure, no database."""
