"""gunicorn's threaded worker, deaf to what a terminal says to all its processes at once."""

import signal

from gunicorn.workers.gthread import ThreadWorker

FROM_A_TERMINAL = (signal.SIGINT, signal.SIGHUP)


class Worker(ThreadWorker):
    """What a terminal says (Ctrl-C, hanging up) is the parent's to hear, which tells its workers in its own words.

    From a worker's first moment: one that still loads the program would be killed by it. The parent's “quit” ends it as
    “terminate” does, by a mark that the loop sees: the quick way takes the thread pool's lock inside the signal
    handler, and waits for ever where the loop held it already.
    """

    def init_signals(self) -> None:
        # Held back while gunicorn sets its own, under which either would kill; what came meanwhile is then dropped.
        before = signal.pthread_sigmask(signal.SIG_BLOCK, FROM_A_TERMINAL)
        super().init_signals()
        for number in FROM_A_TERMINAL:
            signal.signal(number, signal.SIG_IGN)
        signal.signal(signal.SIGQUIT, self.handle_exit)
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
