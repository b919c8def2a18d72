"""Facts of a job: what its log adds up to, each a named function of the view.

The modules stand in the order of the work, and imports between them run one way. What
exists once in the shop is one fact; steps, screens and the report all ask that one.
"""
