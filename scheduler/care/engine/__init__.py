"""What the subjects of the care rules stand on: an enclosure as they see it, jobs and figures, and where they
are registered.

Decisions
---------

What is missing is named, never filled in
    A guess that looks like a figure is worse than none: the review puts those that ask for the same keys
    together. What stands in for a missing value has a safe side, and is said in words: an unknown
    disinfectant (the legal ceiling), panes (thick for the floor, thin for the heat), a tap of unknown
    nitrate (free of it; that is not the safe side, and the finding asks for the value). Figures marked
    extra are told as *fine* when they are missing.

NotKnown is an answer
    NotKnown is an answer, not a failure: an exception, because what rests on it has to end too, through any
    number of figures. It is kept without its traceback, which would hold the frames of everybody who asked.
"""
