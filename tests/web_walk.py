"""A walk along every link of the page, as a browser of some person."""

import html
import re

LINK = re.compile(r'(?:href|src|data-address)="(/[^"]*)"')
FORM = re.compile(r'<form[^>]*?method="post"[^>]*?action="(/[^"]*)"|<form[^>]*?action="(/[^"]*)"[^>]*?method="post"')
MOST_PAGES, FEW_FILES = 400, 4
FOR_ALL = ("/static/", "/out", "/taste", "/coach", "/ping", "/live", "/api")  # and the door itself


def walked(browser, start):
    """Every address that links and pictures of a browser's own pages lead to, and where their forms are sent."""
    seen, waiting, forms = {}, [start], set()
    while waiting and len(seen) < MOST_PAGES:
        address = waiting.pop(0)
        if address in seen:
            continue
        if "/make/file?" in address and sum("/make/file?" in one for one in seen) >= FEW_FILES:
            continue  # each is made when it is asked for
        answer = browser.get(address, follow_redirects=False)
        seen[address] = answer
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        forms |= {html.unescape(one or two) for one, two in FORM.findall(answer.text)}
        found = (html.unescape(link).partition("#")[0] for link in LINK.findall(answer.text))
        waiting += [link for link in found if link not in seen and not link.startswith(FOR_ALL) and link != "/"]
    return seen, {form for form in forms if not form.startswith(FOR_ALL) and form != "/"}
