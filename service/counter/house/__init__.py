"""What was measured, on the page: its fields, its form, the request made of it, and what is drawn of it.

``entries`` makes the fields of what a take-off takes, ``form`` holds what was typed in them, ``asked`` makes the
request of that, ``stored`` opens a request again, ``surveyed`` takes off as much of it as can be, and ``shown`` is
what the page says of that.
"""
