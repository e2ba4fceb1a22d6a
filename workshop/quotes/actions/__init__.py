"""The verbs of a quote: send_version, answer, record_phoned, ask, reply, take_back."""

from workshop.quotes.actions.answer import Incomplete, answer, record_phoned
from workshop.quotes.actions.ask import ask, reply
from workshop.quotes.actions.compose import compose, payer_of
from workshop.quotes.actions.send import send_version, take_back
from workshop.quotes.queries import Conflict, Given, Refused

EVENTS = {
    "quote.sent": "sent quote {quote} to {for_whom}: lines {offered}, {total} with tax, open until {until}",
    "quote.taken_back": "took back quote {quote}",
    "quote.answered": "answered quote {quote}: accepted {accepted}, not now {declined}; {total} with tax, {after} in all",
    "quote.phoned": "noted the answer of {by} by phone ({dialled}) to quote {quote}: accepted {accepted}, not now {declined}; "
    "{total} with tax, {after} in all",
    "quote.asked": "asked about line {line} of quote {quote}: {text}",
    "quote.replied": "answered the question about line {line} of quote {quote}: {text}",
}

__all__ = [
    "EVENTS",
    "Conflict",
    "Given",
    "Incomplete",
    "Refused",
    "answer",
    "ask",
    "compose",
    "payer_of",
    "record_phoned",
    "reply",
    "send_version",
    "take_back",
]
