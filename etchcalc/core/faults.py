"""The one kind of error that a maker is meant to read."""


class BadInput(ValueError):  # noqa: N818  it is what the maker gave, said in two words
    """Something that was given cannot be meant.

    The message is whole sentences for the maker: what was wrong, what is
    accepted, what to type instead. Anything that the workbooks or the command
    line show without a traceback is one of these.
    """


def joined(faults: list[str]) -> str:
    """Return every fault in one sentence."""
    return "; ".join(f.rstrip(".") for f in faults) + "."


def listed(choices) -> str:
    """Return choices as they stand in a sentence."""
    return ", ".join(choices[:-1]) + f" or {choices[-1]}" if len(choices) > 1 else str(choices[0])
