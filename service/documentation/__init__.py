"""The documentation, served in the look of the page: pages of markdown, and a reference made from the contract.

The pages are the ``.md`` files of this folder, to be read here or at ``/docs``; every block of code in them is run by
``tests/integration/test_documentation.py``.
"""

from service.documentation.pages import blueprint

__all__ = ["blueprint"]
