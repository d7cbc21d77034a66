"""The platform: commands, buttons, direct messages. Nothing outside this package imports `discord`.

A command or press takes one way: `client.py` receives it, `contact.py` meets the keeper (rate, return after a closed
door, the moment), a file of `commands/` or `buttons.py` calls one use case, a presenter turns the result into text,
`layout.py` puts the text into components, and `errors.py` has a sentence for whatever went wrong. `messenger.py` is
the other direction: reminders, with the platform's refusals turned into the errors the services know.

No state lives here. What a button means stands in its identifier (`marks.py`); what was answered stands in the store.
"""
