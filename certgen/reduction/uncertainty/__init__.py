"""The uncertainty of the reduced figures: the inputs' uncertainties propagated through the whole chain.

``model`` says what an uncertain input is, ``inputs`` makes the list from rig and readings, ``propagation`` moves
each input, watches every load point move, and combines what it saw.
"""
