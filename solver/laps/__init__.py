"""Runs longer than a stick: where their laps fall, decided together with the cutting."""
