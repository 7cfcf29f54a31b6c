"""The bodies of entries, by topic; `heelstamp.catalogue.entries` names their kinds."""
