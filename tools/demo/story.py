"""Tells what happens, with times since the run began."""
import sys
import time


class Story:
    def __init__(self):
        self.begun = time.monotonic()
        self.signal = None

    def tell(self, text):
        print(f"{time.monotonic() - self.begun:7.1f} s  {text}", flush=True)

    def chapter(self, title):
        print(f"\n  {title}", flush=True)

    def show(self, picture):
        """One line of the state, when the signal has changed."""
        signal = picture["signal"]
        if signal["word"] == self.signal:
            return
        self.signal = signal["word"]
        if "subject" not in signal:
            return self.tell(f"signal: {signal['word']}")
        numbers = ""
        if "value" in signal and "bound" in signal:
            numbers = f" {signal['value']['text']}, limit {signal['bound']['text']}"
        self.tell(f"signal: {signal['word']}, {signal['subject']}{numbers} ({signal['why']})")
        self.tell(f"        {signal['what_to_do']}  Reset: {signal['reset_by']}.")

    def seconds(self):
        return time.monotonic() - self.begun


def fail(text):
    print(f"\nNOT AS EXPECTED: {text}", file=sys.stderr, flush=True)
