"""The jobs: one module each, from a request of values to a result of values; nothing is written anywhere.

One operation runs at a time in a process (`turn_taking` says why): a second one waits until the first has ended. Two at
the same time take two processes; requests and results can be pickled.
"""
