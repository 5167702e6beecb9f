"""The papers of a quote as workbooks: printed pages, drawings to scale, client, crew, office, change order, saving."""
