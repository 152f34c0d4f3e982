from netdiff.readings.side import Side as Side
