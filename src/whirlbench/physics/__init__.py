"""What a turbine's parts do: functions and kernels of SI numbers, one noun a file."""
