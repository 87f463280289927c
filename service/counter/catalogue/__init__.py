"""The catalogue on the page: kept by people, and looked into by the names on a list."""
