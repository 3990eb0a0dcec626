"""Which file sends on which channel."""

from collections.abc import Callable, Mapping

from dispatch.channels import email, webhook
from dispatch.channels.outgoing import Outgoing
from dispatch.domain.channel import Channel

SEND: Mapping[Channel, Callable[[Outgoing], None]] = {
    Channel.EMAIL: email.send,
    Channel.WEBHOOK: webhook.send,
}
