"""An arch model from one patient: callipers, landmarks, a scaled picture. Knows no cases."""
