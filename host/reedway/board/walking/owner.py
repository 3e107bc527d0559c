"""The talk with the owner: plain questions, numbered answers, and four words that work at each of them."""

from __future__ import annotations

import math
import queue
import shutil
import signal
import sys
import textwrap
import threading
from collections.abc import Callable, Sequence
from typing import TextIO

SKIP, BACK, AGAIN, QUIT = "skip", "back", "again", "quit"
WORDS = (SKIP, BACK, AGAIN, QUIT)
LOOK_S = 0.1
HELP = "at each question: a number or a name; or skip, back, again, quit (the answers are kept)"


class Turn(Exception):
    """The owner does not answer the question but says skip, back, again or quit."""

    def __init__(self, word: str) -> None:
        super().__init__(word)
        self.word = word


class Owner:
    """Reads lines from a terminal while something else goes on, or from a file line by line."""

    def __init__(self, lines: TextIO, out: TextIO, wait_s: float = 60.0) -> None:
        self._lines = lines
        self._out = out
        self.touch: Callable[[str], bool] | None = None  # on a virtual board: close an input by its name
        self.alive: Callable[..., None] = lambda *_: None  # called over and over while the owner thinks
        self.wait_s = wait_s
        self.is_terminal = lines.isatty()
        self._said: list[str] = []  # since the last answer
        self._queue: queue.Queue[str | None] = queue.Queue()
        if self.is_terminal:
            threading.Thread(target=self._read_on, daemon=True).start()

    def _read_on(self) -> None:
        for line in self._lines:
            self._queue.put(line.strip())
        self._queue.put(None)

    def tell(self, text: str) -> None:
        """Say something, on a terminal broken between words."""
        if self._out.isatty():
            text = "\n".join(broken(line, shutil.get_terminal_size().columns) for line in text.split("\n"))
        self._said.append(text)
        print(text, file=self._out, flush=True)

    def say_again(self) -> None:
        """What the owner has not answered yet, once more: the terminal was another's meanwhile."""
        print("\n".join(self._said), file=self._out, flush=True)

    def bell(self, good: bool) -> None:
        """Heard at the far end of the layout: once for right, twice for something else."""
        if self.is_terminal:
            self._out.write("\a" if good else "\a\a")
            self._out.flush()

    def line(self, wait_s: float | None = None) -> str | None:
        """The next line; None when none came in time. The end of the input means quit."""
        if not self.is_terminal:
            self.alive(math.inf)
            text = self._lines.readline()
            self.alive()
            if not text:
                raise Turn(QUIT)
            return text.strip()
        try:
            while True:
                self.alive()
                try:
                    found = self._queue.get(timeout=LOOK_S if wait_s is None else wait_s)
                except queue.Empty:
                    if wait_s is not None:
                        return None
                    continue
                if found is None:
                    raise Turn(QUIT)
                return found
        finally:
            self._out.flush()

    def text(self) -> str:
        """The next line, however long it takes."""
        found = self.line() or ""
        self._said.clear()
        return found

    def enter(self, words: str) -> None:
        """Only an empty line goes on: what was meant otherwise starts no pulse."""
        while True:
            text = self.text()
            if not text:
                return
            word = turn_word(text, ())
            if word:
                raise Turn(word)
            self.tell(f"  {words}")

    def ready(self, text: str) -> None:
        """Tell, and wait for Enter."""
        self.tell(text)
        self.tell("  Enter when it is so:")
        self.enter(f"an empty line (Enter) when it is so, or {', '.join(WORDS)}:")

    def ask(self, question: str, answers: Sequence[str]) -> str:
        """One of these answers, by number (from 1) or name."""
        self.tell(question)
        for number, answer in enumerate(answers, 1):
            self.tell(f"  {number}  {answer}")
        while True:
            text = self.text()
            if text.isdigit() and 1 <= int(text) <= len(answers):
                return answers[int(text) - 1]
            for answer in answers:
                if text.lower() == answer.lower():
                    return answer
            word = turn_word(text, answers)
            if word:
                raise Turn(word)
            self.tell(f"  a number from 1 to {len(answers)}, or {', '.join(WORDS)}:")

    def yes(self, question: str) -> bool:
        return self.ask(question, ("yes", "no")) == "yes"


def broken(line: str, columns: int) -> str:
    """One line broken between words, its continuation as far in as its text."""
    indent = " " * (len(line) - len(line.lstrip()))
    return textwrap.fill(line, columns, subsequent_indent=indent, break_long_words=False) if line else line


def turn_word(text: str, answers: Sequence[str]) -> str:
    """skip, back, again or quit, also by the first letter where no answer is called so; else nothing."""
    lower = text.lower()
    taken = {answer.lower() for answer in answers}
    for word in WORDS:
        if lower == word or (lower == word[0] and lower not in taken):
            return word
    return ""


def standard_owner(wait_s: float, to_errors: bool) -> Owner:
    """The owner at this terminal; with `to_errors` the talk leaves standard output alone."""
    owner = Owner(sys.stdin, sys.stderr if to_errors else sys.stdout, wait_s)
    if owner.is_terminal and hasattr(signal, "SIGCONT"):
        signal.signal(signal.SIGCONT, lambda *_: owner.say_again())
    return owner
