"""`{% said %}…{% endsaid %}`: what stands in it, line by line in the reader's language."""

from django import template
from django.template.base import NodeList, Parser, Token
from django.template.context import Context

from api.languages import said

register = template.Library()


class SaidNode(template.Node):
    """Text that is translated when it is rendered, its figures and names filled in."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist

    def render(self, context: Context) -> str:
        """Return the text in the language of the request."""
        return "\n".join(said(line) for line in self.nodelist.render(context).split("\n"))


@register.tag(name="said")
def do_said(parser: Parser, token: Token) -> SaidNode:
    """Compile the tag."""
    nodelist = parser.parse(("endsaid",))
    parser.delete_first_token()
    return SaidNode(nodelist)
