"""The pages, in the order of the work: prepare, check, watch, record; and the interface programs use."""
