"""How a pasted list is read: the shape of the answer, the tokens of a line, and the grammar over them.

A line is cut into tokens (``tokens``), every token is one letter of a short string (``grammar``), and
an item is what that string matches. One rule holds it together: **every number on a line is accounted
for, as a quantity, a length, a mark, a size or a number that is no number of pieces (a date, a price);
else the line is a question.** Pure text in, frozen values out; nothing here raises on any input.
"""
