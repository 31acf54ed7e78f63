"""The arrow as a body: its parts, balance, stiffness, vibration and launch."""
