#!/usr/bin/env python3
"""Drops files on a window, as a file manager does: .ci/drop.py WINDOW X Y FILE…

WINDOW is the window's number, X and Y a place in the window. Speaks XDND 5 (freedesktop.org) as the side that is dragged
from; needs python3-xlib. Ends with 0 once the window has taken the files.
"""

import pathlib
import select
import sys
import time
import urllib.parse

from Xlib import X, Xatom, display
from Xlib.protocol import event

PATIENCE = 20.0


class Source:
    def __init__(self, target, place, files):
        self.display = display.Display()
        self.target = self.display.create_resource_object("window", target)
        root = self.display.screen().root
        at = self.target.translate_coords(root, 0, 0)
        self.at = (place[0] - at.x, place[1] - at.y)
        self.window = root.create_window(0, 0, 1, 1, 0, X.CopyFromParent)
        self.list = "".join(pathlib.Path(file).resolve().as_uri() + "\r\n" for file in files).encode()
        self.uris = self.atom("text/uri-list")
        self.window.change_property(self.atom("XdndAware"), Xatom.ATOM, 32, [5])
        self.window.set_selection_owner(self.atom("XdndSelection"), X.CurrentTime)
        self.display.flush()

    def atom(self, name):
        return self.display.intern_atom(name)

    def send(self, kind, *data):
        words = [self.window.id, *data]
        words += [0] * (5 - len(words))
        message = event.ClientMessage(window=self.target, client_type=self.atom(kind), data=(32, words))
        self.target.send_event(message)
        self.display.flush()

    def position(self):
        self.send("XdndPosition", 0, (self.at[0] << 16) | self.at[1], X.CurrentTime, self.atom("XdndActionCopy"))

    def give(self, request):
        """Answers who asks for what is dragged."""
        asked = request.property or request.target
        known = request.target == self.uris
        if known:
            request.requestor.change_property(asked, request.target, 8, self.list)
        elif request.target == self.atom("TARGETS"):
            request.requestor.change_property(asked, Xatom.ATOM, 32, [self.uris])
            known = True
        answer = event.SelectionNotify(
            time=request.time,
            requestor=request.requestor,
            selection=request.selection,
            target=request.target,
            property=asked if known else X.NONE,
        )
        request.requestor.send_event(answer)
        self.display.flush()

    def wait(self, kind):
        """The words of the next message of this kind."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            while self.display.pending_events():
                got = self.display.next_event()
                if got.type == X.SelectionRequest:
                    self.give(got)
                elif got.type == X.ClientMessage and got.client_type == self.atom(kind):
                    return list(got.data[1])
            select.select([self.display], [], [], 0.2)
        sys.exit(f"no {kind} came")

    def drop(self):
        self.send("XdndEnter", 5 << 24, self.uris, 0, 0)
        self.position()
        # A place is told again only once the last was answered.
        for _ in range(50):
            if self.wait("XdndStatus")[1] & 1:
                break
            time.sleep(0.1)
            self.position()
        else:
            sys.exit("the window does not take files")
        self.send("XdndDrop", 0, X.CurrentTime)
        self.wait("XdndFinished")


def main():
    window, x, y, *files = sys.argv[1:]
    Source(int(window), (int(x), int(y)), files).drop()


if __name__ == "__main__":
    main()
