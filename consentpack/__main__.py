"""`python -m consentpack` is the same as `consentpack`."""

from consentpack.cli import main

if __name__ == "__main__":
    main()
