"""Prediction against flight: match, diagnosis, calibration, and which propeller to try next."""
