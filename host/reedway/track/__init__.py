"""The track in words of the railway: sections, checks, how trains run over it, rules derived from it."""
