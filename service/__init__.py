"""What the world sees: the Flask app, its blueprints and schemas, problem details, drawings and the command line.

Everything a person or a program is told is put into words here; what is true about cutting is asked of
``solver``, and what takes time is handed to ``workers``.
"""
