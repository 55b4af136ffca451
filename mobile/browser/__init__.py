"""The only package that imports js and pyodide."""
