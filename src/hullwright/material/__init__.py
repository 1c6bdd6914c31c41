"""What sealing uses: film, beads, pieces, tape, fasteners, packs and the order.

Pure sums. Joints are known here only as numbers: lengths, widths, gaps, counts. SI throughout: metres, square metres,
cubic metres, seconds; money in the user's currency.

==================  ==============================================================================
module              question it answers
==================  ==============================================================================
``film``            how thick wet for how thick dry, how far a volume goes, what a gap takes
``balance``         what mean film was laid, what waste a lift of work taught
``sheet``           do the figures printed on a product sheet agree with each other
``bead``            how thick a bead, how fast, which backer rod
``spreading``       zig-zags, parallel beads, notched spreaders
``pieces``          what a pipe, rafter tail, fastener, box, corner or T-joint takes
``tape``            how much tape with laps and roll ends, primer, liner
``fasteners``       how many nails a panel has, how many heads stay open, when strength is in question
``packs``           how many whole packs, what is lost each evening
``draws``           how sure the quantities are
``small``           nozzles, spreaders, rollers, rags, gloves
``order``           the order with P50 and P90
``over``            what wider and thicker than the sheet costs on this house
``tolerance``       what film at least is there along a lot, by a handful of readings
``distributions``   normal, chi-square, noncentral t and their kin
``columns``         the same sums for many joints at once
``command``         the film sums by hand, as one result
==================  ==============================================================================
"""
