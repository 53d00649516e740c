"""The page to file: blocks, then HTML or PDF."""

CAUTION = (
    "**Caution.** A teaching and checking aid. Relief-device sizing protects lives: decisions "
    "belong to a competent, licensed engineer under the local code, with the manufacturer's "
    "certified data."
)
