"""What a turbine's parts are: frozen descriptions, checked at birth, free of physics."""
