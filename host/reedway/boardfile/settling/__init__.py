"""Will the standing rules come to rest? Every case, where that can be tried; else by parts, or a walk."""
