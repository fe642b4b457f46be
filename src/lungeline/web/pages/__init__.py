"""The pages, one file a part of the work: each gathers what its template shows and computes nothing."""
