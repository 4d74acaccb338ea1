"""The words of the block, one card each: the word and one plain sentence.

Rule 1: a word here is the word on the keys, in the band and on the ground sheet.
"""

from fieldapp.words.catalogue import message

#: Word and sentence, both messages.
GLOSSARY: tuple[tuple[str, str], ...] = (
    (message("block"), message("The wetland as a whole, within its outline.")),
    (message("cell"), message("A square of the block with a name such as C07.")),
    (message("ready"), message("This cell may be picked.")),
    (message("resting"), message("This cell was picked and grows back: leave it until the day "
                                 "shown.")),
    (message("not surveyed"), message("Nobody has measured this cell yet: ask before picking.")),
    (message("closed"), message("This ground is not to be picked.")),
    (message("taken"), message("All that this cell can give for now is picked: go to another "
                               "cell.")),
    (message("bag"), message("What a picker fills; half a bag counts too.")),
    (message("pile"), message("Bags in one place that wait to be lifted; a label is tied on.")),
    (message("pick"), message("One visit of the gang to a cell, of one day or more.")),
    (message("rest"), message("The years a picked cell is left alone to grow back.")),
    (message("plot"), message("The spot where the frame is laid, drawn by chance or chosen.")),
    (message("quadrat"), message("One laying of the frame: its cover and depths are noted.")),
    (message("cover"), message("How much of the frame has living moss worth picking, in %.")),
    (message("depth"), message("How long the sound moss strand is at a probe, in mm.")),
    (message("scrub"), message("How much of the frame is under woody bushes, in %.")),
    (message("rush"), message("How much of the frame has rushes, in %.")),
    (message("clip"), message("Moss cut from a known area, to be dried and weighed.")),
    (message("ground sheet"), message("What the phone knows of the ground, as of the day it was "
                                      "made at the shed.")),
    (message("hand-over"), message("Bringing what this phone has noted to the shed.")),
)
