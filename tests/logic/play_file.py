"""For MicroPython: plays each case of a file, one literal (plan, session) a line, and prints its records."""

import sys

from logic.drive import play


def main(path):
    with open(path) as lines:
        for line in lines:
            plan, session = eval(line)
            print("case")
            for record in play(plan, session):
                print("%d %d %d %d" % record)


main(sys.argv[1])
