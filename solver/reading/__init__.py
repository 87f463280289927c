"""How a pasted list is read. Pure text in, frozen values out; nothing here raises on any input.

``reader`` goes through the lines; ``plain`` makes each plain, ``tables`` and ``rows`` know columns,
``kinds`` headings and comments, ``free`` everything else: a line is cut into ``tokens``, each of them
one letter of a short string, and ``rules``, ``arithmetic`` and ``doubts`` give every number its part
by patterns over that string, until ``pieces`` can match it. One rule holds it together: **every number
on a line is accounted for, as a quantity, a length, a mark, a size, or a number that counts nothing
(a date, a price); else the line is a question** (``reasons``).
"""
