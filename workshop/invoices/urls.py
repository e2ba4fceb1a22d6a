from django.urls import URLPattern

app_name = "invoices"
urlpatterns: list[URLPattern] = []
