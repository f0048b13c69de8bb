"""All that the mapping of a printed page may say, as `scrieve read --keys` prints it."""

KEYS = """\
# The mapping of a printed page: a TOML file beside the page, of the same name (page.csv, page.toml), or the one that
# `scrieve read --mapping FILE` names. Readings are written as the page has them, in quotes.

like = "book.toml"              # build on another mapping; what is said here outweighs it. What another boat's
                                # mapping says of her alone ([stem], [transom], load_waterline ...) is not taken over
name = "Gannet"                 # all outside [layout], [rows] and [straight] is the head of the table, as in an
                                # .offsets file: year, designer, kind, source, scale, moulded_to, [backbone], [stem],
                                # [sternpost], [transom], [diagonal.NAME], [mass] ...
units = "feet-inches-eighths"   # of a number without its unit: feet-inches-eighths, in, ft (decimal feet), mm, cm, m
two_part = "feet-inches"        # what 1-6 is: 1 ft 6 in; or "inches-eighths"
one_part = "inches"             # what 10 is among 9^2: 10 in; or "feet"
plus = "1/16"                   # what + and - after an eighth are worth
fractions = "dashed"            # 10 1-2 is 10 1/2; left out, they are "slashed"
decimal = ","                   # decimals have a comma
tolerance = "1/4in"             # what readings are worth, where the table does not show it
load_waterline = "2-3-0"        # above the base line, for headings and heights told from it

[layout]
stations = "down"               # a line of the page is a station; "across": a column is
names = "Sta."                  # heading of the stations' names (down), or label of their line (across); left out: the
                                # first column (down), the line above the first row (across)
headings = 2                    # how many lines of headings there are (down), or columns of labels (across)
cells = "|"                     # what parts cells: "," ";" "|" "tab" "spaces"; left out, the page shows it. Over wide
                                # blanks ("spaces") a reading belongs to the heading it stands under
parts = ["feet", "inches", "eighths"]   # a reading takes a column for each: also "sixteenths"; left out, small
                                # headings such as Ft. In. show it

first = "2-0-0"                 # the first station abaft the stem; left out, it is assumed to stand there
spacing = "2-0-0"               # from each station to the next; or a list: ["3-0-0", "4 x 3-3-0", "3-0-0"]
from_stem = "From stem"         # in place of both: the heading of the distances; or a list, one for each station
begins = "stern"                # the first station of the page is aftmost; left out, "stem"
transom = "Tr."                 # the station that is taken on the transom, which [transom] places; false: none is
heights = "below 4-0-0"         # what heights are measured from: "above base line", "above 2-0-0", "below 4-0-0",
                                # "above load waterline", "below load waterline"

empty = ["nil", "0?"]           # other marks for no reading, besides dashes, dots and nothing
ditto = "above"                 # what a ditto mark repeats where stations are across: "above" or "left"
ditto_marks = ["same"]          # other marks for a ditto, besides " do. ,, and the like
skip = ["AMATEUR WORK"]         # lines that begin so are no part of the table

[rows]                          # heading = [block, row]; blocks are heights, half-breadths and diagonals; rows are
                                # sheer, rabbet, keel, chine, waterline 0-6-0, buttock 1-0-0, or a diagonal's name
"Heights: Deck" = ["heights", "sheer"]                 # a heading of a group; "Deck" alone where there is one
"Deck [2]" = ["half-breadths", "sheer"]                # the second of two alike
"Sheer: Ht." = ["heights", "sheer"]                    # `Ht.` under each station, where stations are across
"Deck half-br." = ["half-breadths", "sheer"]           # a heading set in two lines, `Deck` over `half-br.`
"* in. W.L." = ["half-breadths", "waterline *in"]      # any number of inches
"Load W.L." = ["half-breadths", "waterline load waterline"]
"W.L. A" = ["half-breadths", "waterline 0-6-0 above load waterline"]
Bottom = [["heights", "rabbet"], ["heights", "chine"]] # one printed row for two
Remarks = "ignore"
# A row may say more: what its heights are measured from, what its blanks mean, that its breadths are whole ones.
Keel = { block = "heights", row = "keel", from = "below load waterline", blank = "not taken" }
Beam = { block = "half-breadths", row = "sheer", whole = true, blank = { forward = "on the stem", aft = "not taken" }}

[blank]                         # the same by row or block: "on the base line" (heights), "at the rabbet", "not taken",
"heights rabbet" = "at 0-2-4"   # "on the stem", "at HEIGHT" (heights); or { forward = ..., between = ..., aft = ... }

[straight]                      # lines that are on no page and run straight and level, marked as assumed
rabbet = "0-2-4"

[stem]                          # and [sternpost]: the foot alone, plumb; head and foot, raked; more spots, curved
spots = [["0-0-0", "2-5-0"], ["1-0-0", "0-2-0"]]
assumed = true                  # on no drawing: every report and drawing says so
"""
