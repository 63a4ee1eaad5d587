"""The desk: a page on this computer, from which everything the pipeline can do is reached.

It is as thin as the command line: it calls the same functions, writes the same files and refuses alike.
No rule of its own stands here. It answers this computer alone (`guard`).
"""
