"""Texts and places in them, as the protocol counts."""

import bisect
import re

LINE_END = re.compile(r"\r\n|\n|\r")
BYTES = {"utf-8": 1, "utf-16": 2, "utf-32": 4}


class Text:
    """A text that knows where its lines begin."""

    def __init__(self, text: str, encoding: str):
        self.text = text
        self.encoding = encoding
        ends = list(LINE_END.finditer(text))
        self.starts = [0] + [end.end() for end in ends]
        self.stops = [end.start() for end in ends] + [len(text)]

    def line(self, nth: int) -> str:
        return self.text[self.starts[nth] : self.stops[nth]]

    def units(self, text: str) -> int:
        return len(text.encode(self.encoding + "-le" if self.encoding != "utf-8" else "utf-8")) // BYTES[self.encoding]

    def offset(self, position: dict) -> int:
        """The character at a place; ValueError where there is no such place."""
        line, column = position["line"], position["character"]
        if line >= len(self.starts):
            raise ValueError(f"line {line} of {len(self.starts)}")
        at = 0
        for nth, character in enumerate(self.line(line)):
            if at == column:
                return self.starts[line] + nth
            at += self.units(character)
            if at > column:
                raise ValueError(f"{line}:{column} lies within a character")
        if at == column:
            return self.stops[line]
        raise ValueError(f"column {column} of line {line}, which ends at {at}")

    def position(self, offset: int) -> dict:
        line = bisect.bisect_right(self.starts, offset) - 1
        return {"line": line, "character": self.units(self.text[self.starts[line] : offset])}

    def range(self, start: int, end: int) -> dict:
        return {"start": self.position(start), "end": self.position(end)}

    def span(self, range: dict) -> tuple[int, int]:
        start, end = self.offset(range["start"]), self.offset(range["end"])
        if start > end:
            raise ValueError(f"{range} ends before it begins")
        return start, end

    def within(self, range: dict) -> str:
        start, end = self.span(range)
        return self.text[start:end]

    def end(self) -> dict:
        return self.position(len(self.text))

    def edited(self, edits: list[dict]) -> str:
        """The text after edits that all count in this one; ValueError where two of them overlap."""
        spans = sorted(((*self.span(edit["range"]), nth) for nth, edit in enumerate(edits)))
        for (_, end, _), (start, _, _) in zip(spans, spans[1:]):
            if start < end:
                raise ValueError(f"edits overlap: {edits}")
        out = self.text
        for start, end, nth in reversed(spans):
            out = out[:start] + edits[nth]["newText"] + out[end:]
        return out
