"""Papers: values to words by babel, words to pages by templates, pages to PDF."""
