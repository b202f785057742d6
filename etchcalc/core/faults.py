"""The one kind of error that a maker is meant to read."""


class BadInput(ValueError):  # noqa: N818  it is what the maker gave, said in two words
    """Something that was given cannot be meant.

    The message is whole sentences for the maker: what was wrong, what is
    accepted, what to type instead. Anything that the workbooks or the command
    line show without a traceback is one of these.
    """
