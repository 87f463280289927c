"""The most valuable patterns of every stick: by a table over lengths, or, on wide sticks, scaled and by labels."""
