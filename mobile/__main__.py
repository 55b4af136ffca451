"""`python3 -m mobile`: set up, build the app, serve it, print the address."""

from mobile import bootstrap

if __name__ == "__main__":
    bootstrap.enter("mobile")
    from mobile import cli

    cli.run()
