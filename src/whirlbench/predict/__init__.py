"""The whole turbine in its wind: rotor curve, drivetrain, generator, load, stand, and the balance of all."""
