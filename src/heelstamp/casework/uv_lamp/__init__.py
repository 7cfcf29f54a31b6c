"""The UV lamp at the bench: pairs proposed, borders drawn, regions answered, the panel."""
