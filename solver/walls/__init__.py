"""From walls to runs and back: their pieces on the courses, walls kept to themselves, and how their laps look."""
